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
MIDDLE_THIRD = 1 / 6
"""A load that wanders further than this share of the length lifts one end."""

TROUBLES = ("dead paper", "shape", "off centre", "proud", "warm")
GREY = ("worn paper", "bump", "any growth")


class Effects:
    """Keeps what each trouble has done up to now.

    - *dead paper*: what a fresh sheet would have taken off the highest places beyond
      what this one did in the last session, once a session on a fresh sheet of this
      grade has been read before and after;
    - *shape*: by how much a bow or the twist has grown since it was least towards what
      the lap copies or a rocking hand makes; or the shape that the lap copies, once the
      face has it; a twist counts as the height it makes, which is half of its figure;
    - *off centre*: by how much the side has gone out of square since first tried;
    - *proud*: how far a head or corner stands above the metal around it;
    - *warm*: the crown by heat at the first reading of the set.

    Beside them stand what is neither one thing nor the other: *worn paper*, any that
    cuts less than a fresh one by much, *bump*, any local height, and *any growth* of a
    bow or the twist, by heat, by worn rims or by a lump that goes.
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
        form = (face.along_bow_um, face.across_bow_um, face.twist_um / 2)
        shapes = [abs(um) for um in form]
        least = self._least or shapes
        self._least = [min(a, b) for a, b in zip(least, shapes, strict=True)]
        grown = [a - b for a, b in zip(shapes, self._least, strict=True)]
        drawn = [
            by if um * way > 0 else 0.0
            for by, um, way in zip(grown, form, self._ways(), strict=True)
        ]
        self._now["any growth"] = max(grown)
        self._now["shape"] = max(*drawn, self._copied(form))
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
        if rubbed.fresh:
            self._known.add(rubbed.grade)

    def _of_lap(self) -> tuple[float, float, float]:
        """Give both bows and half the twist of a face that has the lap's shape."""
        along, across, twist = self.bench.lap.copied_um(self.bench.shop.face)
        return along, across, twist / 2

    def _ways(self) -> list[float]:
        """Give which way lap and hand draw each part of the form: 1, -1 or 0."""
        u = self.bench.gauge.u_um
        ways = [(um > u) - (um < -u) for um in self._of_lap()]
        if self.bench.hand.swing > MIDDLE_THIRD:
            ways[0] = 1
        return [float(way) for way in ways]

    def _copied(self, form: tuple[float, float, float]) -> float:
        """Give the bow or twist of the lap that the face has come to, or nothing."""
        return max(
            [
                abs(a)
                for a, b in zip(self._of_lap(), form, strict=True)
                if abs(a - b) <= self.bench.gauge.u_um
            ],
            default=0.0,
        )

    def tried(self, off_um: float) -> None:
        """Take note of a try with the square."""
        if self._square is None:
            self._square = off_um
        self._now["off centre"] = abs(off_um - self._square)
