"""The data tables."""
