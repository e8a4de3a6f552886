"""How thick units are."""
