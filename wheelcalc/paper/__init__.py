"""What is drawn and printed."""
