"""What runs the command as a person does: a terminal, the fuzzer, an installed wheel file."""
