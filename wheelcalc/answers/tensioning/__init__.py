"""`tension`: how tight each side is to be, what limits it, what riding takes away, and the wheel as a structure."""
