"""Photos of a scribbled face: the only place that knows pixels."""
