"""Run by hand: speed, fuzzing, mutants, statistics over many wheels and sounds."""
