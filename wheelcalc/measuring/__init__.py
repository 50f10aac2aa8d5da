"""From raw readings to dimensions, and from dimensions to parts."""
