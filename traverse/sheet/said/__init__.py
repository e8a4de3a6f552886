"""What the sheet says in words."""
