"""The blank notebook page: what a party carries out, ruled in the order of the notation."""
