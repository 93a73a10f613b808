"""Pictures of an answer; the only package that loads matplotlib."""
