"""What is found, in words for the bench and as JSON."""
