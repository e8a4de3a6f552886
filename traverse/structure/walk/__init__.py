"""What was met in walking order."""
