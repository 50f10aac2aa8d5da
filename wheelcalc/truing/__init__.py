"""Which nipple to turn."""
