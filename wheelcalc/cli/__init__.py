"""The command line. Help is a constant HELP of each command: as a docstring PYTHONOPTIMIZE=2 would strip it."""
