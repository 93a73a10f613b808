"""Where to put the gauge on a face."""
