"""Text of a log to its records."""
