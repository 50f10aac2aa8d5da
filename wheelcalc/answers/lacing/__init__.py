"""`lace`: which spoke runs where, the order to lace in, what the lacing does, and what a half-laced wheel really is."""
