"""Legend, title, foot and the blocks of words on sheet 1."""
