"""Write the sample photos: a sole scribbled over, before and after a few strokes.

    python -m tests.reference.make_photos

Invented, like all samples, and drawn; no camera was there.
"""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from tests.photo_scenes import render, scenes

FOLDER = Path(__file__).resolve().parents[2] / "sample_measurements"
SCENE = "black, warm evening lamp, twist"
WIDTH_PX, QUALITY = 1600, 80
MARK = "Invented: drawn by a script, no camera was there."


def photos() -> dict[str, NDArray[np.uint8]]:
    """Draw both photos, as wide as a phone sends them in a message."""
    shot = render(next(scene for scene in scenes() if scene.name == SCENE))
    found = {}
    for name, picture in (("before", shot.before), ("after", shot.after)):
        scale = WIDTH_PX / picture.shape[1]
        found[f"tansy_{name}.jpg"] = np.asarray(
            cv2.resize(picture, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA),
            np.uint8,
        )
    return found


def main() -> None:
    """Write both."""
    for name, picture in photos().items():
        coloured = Image.fromarray(np.ascontiguousarray(picture[:, :, ::-1]))
        coloured.save(FOLDER / name, quality=QUALITY, comment=MARK)


if __name__ == "__main__":
    main()
