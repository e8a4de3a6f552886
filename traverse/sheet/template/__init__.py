"""Templates and papers as data."""
