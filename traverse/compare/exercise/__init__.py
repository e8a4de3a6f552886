"""What students find slips in: copies of a log with one slip each."""
