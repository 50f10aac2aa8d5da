"""`fit`: does the hub go into this frame, with which spacers, and does the chain run straight."""
