"""The old wheel as gauge, and what the parts on hand can build."""
