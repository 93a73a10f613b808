"""The surface that readings leave possible, and what is sure about it."""
