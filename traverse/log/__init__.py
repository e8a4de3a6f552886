"""What was booked: records of the log, nothing computed."""
