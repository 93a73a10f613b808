"""What the history of a face tells of removal."""
