"""What a wheel is: parts, lacing, the spokes in space."""
