"""Flatness of hand-plane soles and sides from cheap readings, with honest doubt."""

__version__ = "0.1.0"
