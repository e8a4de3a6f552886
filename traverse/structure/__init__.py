"""Planes, lines and what follows from them."""
