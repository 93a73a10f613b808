"""Signs of trouble at the bench, a module each."""
