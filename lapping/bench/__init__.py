"""What is said at the bench and kept, for whoever asks for it."""
