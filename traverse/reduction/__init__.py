"""Booked legs to horizontal ones, turned to true north, with their errors."""
