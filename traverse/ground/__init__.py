"""The ground between the stations: heights on a grid, and where a plane comes out on them."""
