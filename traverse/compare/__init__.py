"""A log held against the leader's: what is paired, what one cause explains, what it is worth by a scheme."""
