"""From a readings file to readings: header lines, tables, all mistakes at once."""
