"""Writers of layers: each takes the records of `traverse.layers` and gives bytes."""
