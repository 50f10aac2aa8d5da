"""How long the spokes are, and which to buy."""
