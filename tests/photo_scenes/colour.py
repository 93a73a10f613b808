"""Colours as light: BGR triples that add up, from the display values one can name."""

from __future__ import annotations

import numpy as np

from tests.photo_scenes.scene import Array, Triple


def light_of(red: float, green: float, blue: float) -> Array:
    """Give display values 0 to 255 as linear BGR light (sRGB, IEC 61966-2-1)."""
    return linear(np.array([blue, green, red], np.float32) / 255)


def linear(shown: Array) -> Array:
    """Turn display values 0 to 1 into light, as IEC 61966-2-1 has it."""
    low = shown <= 0.04045
    return np.asarray(np.where(low, shown / 12.92, ((shown + 0.055) / 1.055) ** 2.4))


def shown(light: Array) -> Array:
    """Turn light 0 to 1 into display values, as IEC 61966-2-1 has it."""
    held = np.clip(light, 0.0, 1.0)
    low = held <= 0.0031308
    return np.asarray(
        np.where(low, 12.92 * held, 1.055 * np.power(held, 1 / 2.4) - 0.055),
        np.float32,
    )


def bgr(rgb: Triple) -> Array:
    """Give a triple told as red, green, blue in the order the pictures have."""
    return np.array(rgb[::-1], np.float32)
