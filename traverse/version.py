"""Version of the program; kept apart so that reading it imports nothing."""

__version__ = "0.1.0"
