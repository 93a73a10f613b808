"""What the person writes down of the plane, its faces, the lap and the strokes."""

from __future__ import annotations

import json

from tests.campaign.dial import Readings
from tests.campaign.folder import Book, Settings
from tests.campaign.surroundings import Surface
from tests.campaign.workshop import Workshop

PLANE = "Bramble"


class Diary:
    """The book, with the numbers of what was written down to begin with."""

    def __init__(self, shop: Workshop, book: Book) -> None:
        self.shop, self.book = shop, book
        self.plane = self._plane(round(shop.mouth_mm, 2))
        name = "left side" if shop.face.kind == "side" else "sole"
        self.label = f"{PLANE}/{name}"
        self.face = self._face(name, shop.outline, shop.target)
        self.side = self.face
        square = shop.square
        if square is not None and shop.face.kind != "side":
            self._side = side_outline(square.length_mm, square.height_mm)
            self.side = self._face("right side", self._side, None)
        self.lap = self._lap(shop.lap)
        self.lap_face = 0
        for paper in shop.papers:
            book.keep("paper", name=f"{paper.name} sheets", grade=paper.name)

    def readings(self, taken: Readings) -> None:
        """Write down a set of the face."""
        self.book.keep_readings(self.face, self.shop.outline, taken, self.shop.target)

    def squares(self, taken: Readings) -> None:
        """Write down a set of the side, which may be the face itself."""
        if self.side == self.face:
            self.readings(taken)
        else:
            self.book.keep_readings(self.side, self._side, taken, None)

    def strokes(self, count: int, grade: str, *, fresh: bool, hand: str | None) -> None:
        """Write down a run of strokes."""
        said = self.shop.load_said
        self.book.keep(
            "strokes",
            face=self.face,
            grade=grade,
            count=count,
            load=said,
            load_kg=6.0 if said == "6 kg" else None,
            hand=hand,
            lap=self.lap,
            fresh_sheet=int(fresh),
            turned=int(self.shop.turns),
            iron_in=1,
        )

    def note(self, text: str) -> None:
        """Write down a remark about the face."""
        self.book.keep("note", about=self.face, text=text)

    def mouth(self, mouth_mm: float) -> None:
        """Correct how far the mouth is open."""
        self.plane = self._plane(mouth_mm, instead_of=self.plane)

    def lap_map(self, lap: Surface, taken: Readings) -> None:
        """Write down readings of the lap, and that the lap has been measured."""
        outline: Settings = (
            ("face", "lap"),
            ("length", f"{lap.length_mm:g} mm"),
            ("width", f"{lap.width_mm:g} mm"),
        )
        if not self.lap_face:
            self.lap_face = self._face(lap.name, outline, None, plane=None)
        self.book.keep_readings(self.lap_face, outline, taken, None)
        self.lap = self._lap(lap, instead_of=self.lap, face=self.lap_face)

    def other_lap(self, lap: Surface) -> None:
        """Write down another lap, from now on in use."""
        self.lap, self.lap_face = self._lap(lap), 0

    def _lap(
        self, lap: Surface, instead_of: int | None = None, face: int | None = None
    ) -> int:
        number = self.book.keep(
            "lap",
            instead_of=instead_of,
            name=lap.name,
            kind=lap.kind,
            flatness=lap.stated,
            flatness_um=None if lap.stated is None else float(lap.stated.split()[0]),
            face=face,
        )
        # Strokes name the first entry of a lap, whatever was said of it later.
        return number if instead_of is None else self.book.root(number)

    def _face(
        self, name: str, outline: Settings, target: str | None, plane: int | None = -1
    ) -> int:
        sizes = dict(outline)
        return self.book.keep(
            "face",
            plane=self.plane if plane == -1 else plane,
            name=name,
            settings=json.dumps([list(one) for one in outline]),
            length_mm=float(sizes["length"].removesuffix(" mm")),
            width_mm=float(sizes["width"].removesuffix(" mm")),
            target=target,
            zones="[]",
        )

    def _plane(self, mouth_mm: float, instead_of: int | None = None) -> int:
        mouth = self.shop.face.mouth is not None
        return self.book.keep(
            "plane",
            instead_of=instead_of,
            name=PLANE,
            kind="bench plane",
            metal=self.shop.metal.name,
            bed_deg=self.shop.bed_deg if mouth else None,
            front_deg=90.0 if mouth else None,
            mouth_mm=mouth_mm if mouth else None,
        )


def side_outline(length_mm: float, height_mm: float) -> Settings:
    """Give the header lines of a side that is only tried with a square."""
    return (
        ("face", "side"),
        ("length", f"{length_mm:g} mm"),
        ("width", f"{height_mm:g} mm"),
        ("left_edge", "top"),
    )
