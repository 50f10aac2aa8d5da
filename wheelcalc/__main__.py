"""`python -m wheelcalc` is the command `wheelcalc`."""

from wheelcalc.cli.main import main

main()
