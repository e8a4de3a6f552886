"""Pages of a comparison with the key: one for each party, and the leader's own."""
