"""What is known of a build: every key of the build file, declared once with its type, range, default and how to come by it."""
