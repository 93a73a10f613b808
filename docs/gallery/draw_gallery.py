"""Draw every kind of picture from the samples: `python docs/gallery/draw_gallery.py`.

They go beside this script, small, unless a folder is given.
"""

from __future__ import annotations

import io
import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path

from invented_sessions import sessions
from matplotlib.figure import Figure
from PIL import Image

from lapping.advice.advised_then import advised_then
from lapping.advice.case import Case, look_at
from lapping.answer import Answer, answer
from lapping.face import Face, Mouth
from lapping.grits import parse_grit
from lapping.photo.look import look
from lapping.pictures.contact import contact_picture
from lapping.pictures.face_map import face_map
from lapping.pictures.frame import plain_style
from lapping.pictures.papers import papers
from lapping.pictures.progress import progress
from lapping.pictures.sections import sections
from lapping.planning.job_ahead import job_from_surface
from lapping.planning.whole_job import assumed_rates, plan_job
from lapping.progress import progress_of
from lapping.readings_file.reading import read_file
from lapping.removal.told import stages_told

HERE = Path(__file__).resolve().parent
SAMPLES = HERE.parents[1] / "sample_measurements"
COLOURS, DOTS_PER_IN = 255, 100
TARGET_UM = 30.0
TANSY = Face(
    length_mm=245,
    width_mm=62,
    mouth=Mouth(from_mm=80, to_mm=86, left_mm=5.5, right_mm=56.5),
)


@cache
def found(name: str) -> Answer:
    """Answer for a sample file."""
    return answer([read_file(SAMPLES / f"{name}.csv")])


@cache
def came_along() -> Case:
    """Let the jack Teasel come along from its sample readings on."""
    return look_at(sessions("Teasel/sole", found("teasel_twist").sets[0]))


def contact() -> Figure:
    """Draw the sample photos and where the face bore."""
    after, before = (SAMPLES / f"tansy_{when}.jpg" for when in ("after", "before"))
    return contact_picture(look(after, TANSY, before=before, toe="left"))


def history() -> Figure:
    """Draw how the face came along, and what was to be done each time."""
    case = came_along()
    told = progress_of(case, None, advised_then(case.job))
    return progress(told, case.glances)


def order_of_papers() -> Figure:
    """Draw the plan for the face as it was first, and what came off since."""
    case, first = came_along(), found("teasel_twist")
    likely, (low, high) = first.likely.likely_um, first.likely.interval_um
    assert likely is not None
    assert high is not None
    job = job_from_surface(
        first.surface,
        case.job.metal,
        TARGET_UM,
        flatness_um=(low, likely, high),
    )
    grits = [parse_grit(name) for name in ("P80", "P120", "P180", "P320")]
    plan = plan_job(job, assumed_rates(job, grits))
    return papers("Teasel/sole", plan, stages_told(case.removal))


PICTURES: dict[str, Callable[[], Figure]] = {
    "twisted_sole": lambda: face_map(found("teasel_twist")),
    "leaves": lambda: face_map(found("bracken_leaves")),
    "side": lambda: face_map(found("bramble_side")),
    "lap": lambda: face_map(found("planer_table")),
    "twist_not_seen": lambda: face_map(found("yarrow_no_diagonals")),
    "sections": lambda: sections(found("bramble_hollow_behind_mouth")),
    "sections_of_twist": lambda: sections(found("teasel_twist")),
    "contact": contact,
    "progress": history,
    "papers": order_of_papers,
}


def main(folder: Path) -> None:
    """Draw all pictures into a folder that exists."""
    for name, draw in PICTURES.items():
        drawn = io.BytesIO()
        with plain_style():
            draw().savefig(drawn, format="png", dpi=DOTS_PER_IN)
        small = Image.open(drawn).convert("RGB").quantize(COLOURS)
        small.save(folder / f"{name}.png", optimize=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE)
