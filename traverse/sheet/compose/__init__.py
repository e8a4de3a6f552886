"""Which panel goes where, and on which page."""
