"""The section strip."""
