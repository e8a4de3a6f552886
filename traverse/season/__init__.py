"""Many logs as one index: what each says, kept in rows; a page to read and layers for a GIS."""
