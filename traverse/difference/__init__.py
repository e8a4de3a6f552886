"""Two versions of one log: what was changed, and what each change brought about."""
