"""What to do next: the table of rows and what they stand on."""
