"""Other ways to the same number: solvers, exhaustive plans, outside values."""
