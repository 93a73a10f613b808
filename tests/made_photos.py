"""Photos made up for tests: pictures with known dots, and their files by Pillow."""

from __future__ import annotations

import io
import struct
import zlib
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

Pixels = NDArray[np.uint8]
DOT_PX = 4.0
"""How wide a dot is: the standard deviation of its brightness."""


def textured(width: int, height: int, seed: int = 1) -> Pixels:
    """Give a smooth colourful picture with a little grain, RGB."""
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[0:height, 0:width]
    waves = [np.sin(x / a + y / b) for a, b in ((17, 31), (23, 13), (41, 19))]
    grain = rng.normal(0, 5, (height, width, 1))
    smooth = 128 + 70 * np.stack(waves, axis=-1) + grain
    return np.clip(smooth, 0, 255).astype(np.uint8)


def dotted(
    width: int, height: int, dots: NDArray[np.float64], dot_px: float = DOT_PX
) -> Pixels:
    """Give bright round dots, middles at (x, y), on dark ground."""
    y, x = np.mgrid[0:height, 0:width]
    light = np.zeros((height, width))
    for at_x, at_y in dots:
        light += np.exp(-((x - at_x) ** 2 + (y - at_y) ** 2) / (2 * dot_px**2))
    return np.repeat((20 + 220 * light).astype(np.uint8)[..., None], 3, axis=2)


def found_dot(
    pixels: Pixels, near: NDArray[np.float64], reach: float
) -> NDArray[np.float64]:
    """Give the middle of the light within reach of a place, in pixels."""
    left, top = np.floor(near - reach).astype(int)
    right, bottom = np.ceil(near + reach).astype(int) + 1
    part = pixels[top:bottom, left:right, 1].astype(float) - 20
    y, x = np.mgrid[top:bottom, left:right]
    part[np.hypot(x - near[0], y - near[1]) > reach] = 0
    return np.array([(part * x).sum(), (part * y).sum()]) / part.sum()


def exif(orientation: int) -> Image.Exif:
    """Give an EXIF block with an orientation, a place and a camera."""
    found = Image.Exif()
    found[0x0112] = orientation
    found[0x010F] = "an invented camera"
    found[0x8825] = {1: "N", 2: (12.0, 34.0, 56.0), 3: "W", 4: (7.0, 8.0, 9.0)}
    return found


def packed(
    rgb: NDArray[Any] | Image.Image, kind: str = "JPEG", **settings: Any
) -> bytes:
    """Give the file that Pillow makes of the pixels."""
    into = io.BytesIO()
    image = rgb if isinstance(rgb, Image.Image) else Image.fromarray(rgb)
    if kind == "JPEG":
        settings = {"quality": 95, "subsampling": 0} | settings
    image.save(into, kind, **settings)
    return into.getvalue()


def with_chunk(png: bytes, name: bytes, content: bytes, at: int = 33) -> bytes:
    """Put a chunk with a right checksum into a PNG, after its first one."""
    chunk = struct.pack(">I", len(content)) + name + content
    chunk += struct.pack(">I", zlib.crc32(name + content))
    return png[:at] + chunk + png[at:]


def png_of_size(png: bytes, width: int, height: int) -> bytes:
    """Let a PNG claim another size, its checksum right."""
    content = struct.pack(">II", width, height) + png[24:29]
    return with_chunk(png[:8] + png[33:], b"IHDR", content, at=8)


def jpeg_of_size(jpeg: bytes, width: int, height: int) -> bytes:
    """Let a JPEG claim another size."""
    for marker in (b"\xff\xc0", b"\xff\xc2"):
        at = jpeg.find(marker)
        if at >= 0:
            return jpeg[: at + 5] + struct.pack(">HH", height, width) + jpeg[at + 9 :]
    raise ValueError(jpeg[:20])


def scan_start(jpeg: bytes) -> int:
    """Give where the first scan of a JPEG begins."""
    return jpeg.index(b"\xff\xda") + 14
