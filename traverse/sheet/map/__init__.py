"""The map and what stands on it."""
