"""Folds, planes of contacts, and what can be said of them."""
