"""Contacts that the walk crossed: each in a line from edge to edge of the ground that was looked at."""
