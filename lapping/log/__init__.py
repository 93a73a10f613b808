"""The log: one SQLite file that keeps what was done and measured, and loses nothing."""
