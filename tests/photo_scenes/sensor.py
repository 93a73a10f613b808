"""From light to a picture as a phone writes it: lens, sensor, tone, JPEG."""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.photo_scenes.colour import shown
from tests.photo_scenes.fields import blurred
from tests.photo_scenes.scene import Array, Camera, Developing

FULL = 60000.0
"""What a full pixel is in the numbers that are demosaiced."""


def developed(
    light: Array, camera: Camera, how: Developing, rng: np.random.Generator
) -> NDArray[np.uint8]:
    """Give the picture, JPEG-coded and decoded again."""
    raw = _through_lens(light, camera, how)
    # Phones meter the whole frame, with more weight in the middle.
    high, wide = raw.shape[:2]
    grey = raw[..., 1]
    core = grey[high // 4 : -high // 4, wide // 4 : -wide // 4]
    level = 0.35 * float(grey.mean()) + 0.65 * float(core.mean())
    gain = 0.2 / level
    # They also see to it that little of the middle is blown out.
    middle = raw[high // 4 : -high // 4 : 4, wide // 4 : -wide // 4 : 4]
    bright = float(np.quantile(middle.max(axis=-1), 0.97))
    raw *= min(gain, 0.62 / bright) * 2.0**how.ev
    # Light that strays inside the lens lifts all of the picture a little.
    raw += 0.008 * raw.mean(axis=(0, 1))
    read = _read(raw, how, rng)
    read *= np.array([how.white[1], 1.0, how.white[0]], np.float32)
    toned = _toned(read, how)
    if how.smear:
        toned = _denoised(toned, how.smear)
    if how.sharpen:
        toned += how.sharpen * (toned - blurred(toned, 1.3))
    bytes_ = np.clip(np.round(toned * 255), 0, 255).astype(np.uint8)
    coded, data = cv2.imencode(".jpg", bytes_, [cv2.IMWRITE_JPEG_QUALITY, how.jpeg])
    assert coded
    return np.asarray(cv2.imdecode(data, cv2.IMREAD_COLOR), np.uint8)


def _through_lens(light: Array, camera: Camera, how: Developing) -> Array:
    found = blurred(light, how.blur_px)
    if how.rim_blur_px:
        found = _soft_rim(found, how.rim_blur_px)
    if how.motion_px >= 1:
        found = _moved(found, how.motion_px, how.motion_deg)
    high, wide = found.shape[:2]
    down = ((np.arange(high) / high - 0.5) ** 2)[:, None]
    right = ((np.arange(wide) / wide - 0.5) ** 2)[None, :]
    fall = 1 - camera.vignette * 2 * (down + right)
    if how.flicker:
        # A lamp on 50 Hz mains flickers 100 times a second while the rows are read.
        fall = fall * (1 + how.flicker * np.sin(np.arange(high) / high * 19)[:, None])
    found = found * fall[..., None].astype(np.float32)
    # What is much too bright spreads a little over its neighbours.
    over = np.clip(found - 3 * float(found.mean()), 0, None)
    if float(over.max()) > 0:
        small = cv2.resize(over, None, fx=0.1, fy=0.1, interpolation=cv2.INTER_AREA)
        bloom = cv2.resize(blurred(small, 0.004 * wide), (wide, high))
        found += 0.06 * bloom
    return np.asarray(found, np.float32)


def _soft_rim(light: Array, blur_px: float) -> Array:
    """Blur towards the corners, where a small lens is at its worst."""
    high, wide = light.shape[:2]
    down = (np.arange(high) / high * 2 - 1)[:, None]
    right = (np.arange(wide) / wide * 2 - 1)[None, :]
    share = np.clip((down**2 + right**2) / 1.6 - 0.15, 0, 1)[..., None]
    soft = blurred(light, blur_px)
    return np.asarray(light + (soft - light) * share, np.float32)


def _moved(light: Array, far_px: float, deg: float) -> Array:
    size = 2 * math.ceil(far_px / 2) + 3
    kernel = np.zeros((size, size), np.uint8)
    reach = far_px / 2 * np.array([math.cos(deg * 0.01745), math.sin(deg * 0.01745)])
    ends = [
        tuple(np.round((size // 2 + s * reach) * 16).astype(int).tolist())
        for s in (-1, 1)
    ]
    cv2.line(kernel, ends[0], ends[1], 255, 1, cv2.LINE_AA, 4)
    weights = kernel.astype(np.float32) / kernel.sum()
    return np.asarray(cv2.filter2D(light, -1, weights), np.float32)


def _read(light: Array, how: Developing, rng: np.random.Generator) -> Array:
    """Give the light as read through a mosaic of colour filters, with its noise."""
    high, wide = light.shape[:2]
    mosaic = np.empty((high, wide), np.float32)
    # Blue at the first pixel, red on its diagonal.
    mosaic[0::2, 0::2] = light[0::2, 0::2, 0]
    mosaic[0::2, 1::2] = light[0::2, 1::2, 1]
    mosaic[1::2, 0::2] = light[1::2, 0::2, 1]
    mosaic[1::2, 1::2] = light[1::2, 1::2, 2]
    spread = np.sqrt(
        (0.012 * how.noise) ** 2 * np.clip(mosaic, 0, 1) + (0.0022 * how.noise) ** 2
    )
    mosaic += spread * rng.standard_normal(mosaic.shape, dtype=np.float32)
    counts = (np.clip(mosaic + 0.02, 0, 1.02) / 1.02 * FULL).astype(np.uint16)
    found = cv2.cvtColor(counts, cv2.COLOR_BayerBGGR2BGR)
    return np.asarray(found.astype(np.float32) / FULL * 1.02 - 0.02, np.float32)


def _toned(light: Array, how: Developing) -> Array:
    plain = shown(light)
    if how.tone == "contrast":
        bent = plain * plain * (3 - 2 * plain)
        plain = 0.45 * plain + 0.55 * bent
    elif how.tone == "phone":
        lifted = 1 - (1 - plain) ** 1.25
        grey = lifted.mean(axis=-1, keepdims=True)
        local = blurred(cv2.resize(grey[..., 0], None, fx=0.05, fy=0.05), 4)
        wide = cv2.resize(local, grey.shape[1::-1])[..., None]
        plain = grey + 1.22 * (lifted - grey) + 0.15 * (grey - wide)
    elif how.tone == "flat":
        plain = 0.07 + 0.84 * plain
    return np.asarray(plain, np.float32)


def _denoised(picture: Array, strength: float) -> Array:
    """Smear colour noise, and fine detail a little, as phones do in poor light."""
    bytes_ = np.clip(picture * 255, 0, 255).astype(np.uint8)
    smooth = cv2.bilateralFilter(bytes_, 5, 10 + 30 * strength, 3)
    ycc = cv2.cvtColor(smooth, cv2.COLOR_BGR2YCrCb).astype(np.float32)
    ycc[..., 1:] = blurred(ycc[..., 1:], 1 + 2 * strength)
    back = cv2.cvtColor(np.clip(ycc, 0, 255).astype(np.uint8), cv2.COLOR_YCrCb2BGR)
    return np.asarray(back.astype(np.float32) / 255)
