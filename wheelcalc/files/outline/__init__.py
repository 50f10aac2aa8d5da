"""The questions of `wheelcalc start`, in the order in which one measures."""
