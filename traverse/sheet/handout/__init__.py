"""The handout, from an allow-list."""
