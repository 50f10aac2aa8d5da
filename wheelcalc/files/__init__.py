"""Text, TOML, CSV and WAV: all that is read from outside."""
