"""Known points and tracks out of the files of receivers and of other programs."""
