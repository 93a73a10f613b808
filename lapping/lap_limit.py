"""What a lap is good for: the flattest result its own shape allows for a face.

A face rubbed all over a lap takes its bows the other way round, by the square of the
ratio of their lengths, and its twist the same way round, by the ratio of their areas
(geometry of a second-degree surface; no edge roll-off).
"""

from __future__ import annotations

import numpy as np

from lapping.face import Face
from lapping.grid import metal_grid
from lapping.observations import form_terms
from lapping.surface.form import Form
from lapping.zone.minimum_zone import minimum_zone


def lap_limit_um(form: Form, lap: Face, face: Face) -> float | None:
    """Give the minimum zone of a face that has taken the lap's form, in µm.

    ``form`` is that of the lap; strokes along the lap's length. None where a part of
    the form was not measured.
    """
    if form.along_bow is None or form.across_bow is None or form.twist is None:
        return None
    along = form.along_bow.um * (face.length_mm / lap.length_mm) ** 2
    across = form.across_bow.um * (face.width_mm / lap.width_mm) ** 2
    twist = form.twist.um * (face.length_mm * face.width_mm)
    twist /= lap.length_mm * lap.width_mm
    grid = metal_grid(Face(length_mm=face.length_mm, width_mm=face.width_mm))
    # The lap's crown makes a hollow: the sign changes, the size of the zone does not.
    taken = np.array([along, across, twist / 4])
    height = form_terms(face, grid.along_mm, grid.across_mm) @ taken
    return minimum_zone(grid.along_mm, grid.across_mm, height).width_um
