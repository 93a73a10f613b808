"""The report as one HTML file that stands by itself."""
