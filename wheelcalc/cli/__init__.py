"""The command line: parse, one answer, format."""
