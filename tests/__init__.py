"""The tests; what they share is in making, oracles and tools."""
