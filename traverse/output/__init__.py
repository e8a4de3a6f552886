"""A page or records to bytes."""
