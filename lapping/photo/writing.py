"""Write a picture to a file, whole, with nothing in it but pixels."""

from __future__ import annotations

from pathlib import Path

import cv2

from lapping.errors import BadInput
from lapping.photo.turned import Pixels
from lapping.whole_file import check_target, write_whole

ENDINGS = (".png", ".jpg", ".jpeg")
QUALITY = 92
MOST_SIDE_PX = 65_500
"""JPEG goes no further (ITU-T T.81), or little."""


def write_picture(path: Path, bgr: Pixels) -> None:
    """Write BGR pixels as PNG or JPEG, by the name's ending; BadInput if refused.

    Place, time and camera of a photo are not among its pixels and are never written.
    """
    ending = check_target(path, ENDINGS)
    tall, wide = bgr.shape[:2]
    if not 0 < min(tall, wide) <= max(tall, wide) <= MOST_SIDE_PX:
        message = f"{path}: a picture of {wide} × {tall} pixels cannot be written"
        raise BadInput(message)
    settings = [] if ending == ".png" else [cv2.IMWRITE_JPEG_QUALITY, QUALITY]
    _, packed = cv2.imencode(ending, bgr, settings)
    write_whole(path, packed.tobytes())
