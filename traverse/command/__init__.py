"""One module a command; each imports only what it needs."""
