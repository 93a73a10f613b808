"""Heights as colours and level lines on the face's own outline."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.colors import Normalize

from lapping.pictures.marks import COLOURS, HATCH
from lapping.pictures.plan import BLANK, MapPlan


def draw_heights(ax: Axes, plan: MapPlan, *, upright: bool = False) -> None:
    """Fill the face with colours and level lines, and hatch what was not seen.

    Landscape with the toe at the left, or upright with the toe at the top.
    """
    levels = plan.levels_um
    z, near = plan.height_um.T, plan.near.T
    x, y = plan.along_mm, plan.across_mm
    if upright:
        x, y, z, near = y, x, z.T, near.T
    norm = Normalize(levels[0], levels[-1])
    if plan.has_heights:
        bands = ax.contourf(x, y, z, levels=levels, cmap=COLOURS, norm=norm, zorder=1)
        bands.set_label("heights")
    # Hollow lines are dashed, so that a print without colours can be read.
    lines = plan.lines_um
    dashes = ["dashed" if level < 0 else "solid" for level in lines]
    if lines.size:
        thin = ax.contour(x, y, z, lines, colors="#333333", linestyles=dashes)
        thin.set(linewidth=0.5, zorder=1.5, label="level lines")
    if plan.has_blank:
        blank = ax.contourf(
            x, y, near, [-1, BLANK], colors=["white"], hatches=["////"], zorder=2
        )
        blank.set(edgecolor=HATCH, linewidth=0, label="blank")
