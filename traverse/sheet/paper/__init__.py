"""What a page is made of: items, type, words, labels, columns."""
