"""Places in the grid of the sheet and in latitude and longitude."""
