"""A page as blocks, and its two writers: terminal text and HTML. Knows nothing of wheels."""
