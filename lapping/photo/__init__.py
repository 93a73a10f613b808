"""Photos: the only place that knows pixels."""
