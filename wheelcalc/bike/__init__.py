"""The wheel in its bike: fit, chainline, geometry."""
