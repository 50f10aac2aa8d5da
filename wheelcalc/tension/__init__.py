"""How tight: targets, the wheel as a structure, tension by ear."""
