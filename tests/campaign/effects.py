"""What a trouble does to the face or to the readings, in µm, at each reading.

A trouble counts as there from the first reading at which its effect is more than three
standard uncertainties of the gauge, and as not there in a job where it never is more
than one; what lies between is neither.
"""

from __future__ import annotations

from tests.campaign.bench import Bench, Rubbed
from tests.campaign.truth import Truth

DEAD = 0.4
"""A sheet that cuts less than this share of a fresh one is dead."""
ALIVE = 0.6
"""One that cuts more than this is not."""
YARDSTICK = 0.7
"""A session on a fresh sheet that cut on average so much of its first shows what it
can do."""

TROUBLES = ("dead paper", "shape", "off centre", "proud", "warm")
GREY = ("worn paper", "bump")


class Effects:
    """Keeps what each trouble has done up to now.

    - *dead paper*: what a fresh sheet would have taken off the highest places beyond
      what this one did in the last session, once a session on a fresh sheet of this
      grade has been read before and after;
    - *shape*: by how much a bow or the twist has grown since it was least, which
      rocking and a lap that is not flat do; or the shape that the lap copies, once the
      face has it;
    - *off centre*: by how much the side has gone out of square since first tried;
    - *proud*: how far a head or corner stands above the metal around it;
    - *warm*: the crown by heat at the first reading of the set.

    Beside them stand what is neither one thing nor the other: *worn paper*, any that
    cuts less than a fresh one by much, and *bump*, any local height.
    """

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self._now = dict.fromkeys((*TROUBLES, *GREY), 0.0)
        self._least: list[float] = []
        self._square: float | None = None
        self._known: set[str] = set()

    def now(self) -> dict[str, float]:
        """Give the effects at the last reading."""
        return dict(self._now)

    def read(self, rubbed: Rubbed | None, *, warm_um: float, face: Truth) -> None:
        """Take note of a reading of the face after these strokes."""
        shapes = [
            abs(v) for v in (face.along_bow_um, face.across_bow_um, face.twist_um)
        ]
        least = self._least or shapes
        self._least = [min(a, b) for a, b in zip(least, shapes, strict=True)]
        grown = [a - b for a, b in zip(shapes, self._least, strict=True)]
        self._now["shape"] = max(*grown, self._copied(face))
        self._now["warm"] = abs(warm_um)
        self._now["proud"] = face.head_um
        self._now["bump"] = max(face.bump_um, face.head_um)
        self._now["dead paper"] = self._now["worn paper"] = 0.0
        if rubbed is None:
            return
        short = rubbed.most_um * (1 / rubbed.cuts - 1)
        if rubbed.cuts < ALIVE:
            self._now["worn paper"] = short
        if rubbed.grade in self._known and rubbed.cuts < DEAD:
            self._now["dead paper"] = short
        if rubbed.fresh and rubbed.cuts > YARDSTICK:
            self._known.add(rubbed.grade)

    def _copied(self, face: Truth) -> float:
        """Give the bow or twist of the lap that the face has come to, or nothing."""
        of_lap = self.bench.lap.copied_um(self.bench.shop.face)
        of_face = (face.along_bow_um, face.across_bow_um, face.twist_um)
        return max(
            [
                abs(a)
                for a, b in zip(of_lap, of_face, strict=True)
                if abs(a - b) <= self.bench.gauge.u_um
            ],
            default=0.0,
        )

    def tried(self, off_um: float) -> None:
        """Take note of a try with the square."""
        if self._square is None:
            self._square = off_um
        self._now["off centre"] = abs(off_um - self._square)
