"""Builds, wheels, jars, sounds and readings that the tests are made of."""
