"""Attitudes and places: vectors, means, tilt, flow."""
