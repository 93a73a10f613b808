"""From a log to what stands on it: looks, advice, report, sheet."""
