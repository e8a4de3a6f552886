"""Sections: what is carried to them, and what is constructed from it."""
