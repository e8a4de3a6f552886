"""Reduced legs to positions of stations."""
