"""Photos of a face: where it lies in the picture, and what its ink shows."""
