"""Readings that may have been misread: what each slip would have done, and which of them explain the log."""
