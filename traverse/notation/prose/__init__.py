"""Words of the party, and the statements that stand among them."""
