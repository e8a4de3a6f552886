"""Results to a page in millimetres; no file format is known here."""
