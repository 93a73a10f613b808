"""Draw the pictures of the documents: `python docs/make_pictures.py [FOLDER]`.

`frame` shows the frame and where left and right swap, `signs` the signs and the zones,
`sole` the map of an invented face, `contact` where a scribbled one bore and
`reading_sheet` the sheet for readings on paper. They go to docs/pictures unless a
folder is given.
"""

from __future__ import annotations

import sys
from pathlib import Path

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle, FancyBboxPatch, Polygon, Rectangle

from lapping.answer import answer
from lapping.cli.print_sheet import Wanted, sheet_of_sizes
from lapping.face import Face, Mouth
from lapping.photo.look import look
from lapping.pictures.contact import save_contact
from lapping.pictures.face_map import save_face_map
from lapping.printed.reading_sheet import reading_sheet
from lapping.readings_file.reading import read_file

ROOT = Path(__file__).resolve().parents[1]
SAMPLES = ROOT / "sample_measurements"
SAMPLE = SAMPLES / "teasel_twist.csv"
AFTER, BEFORE = SAMPLES / "tansy_after.jpg", SAMPLES / "tansy_before.jpg"
SCRIBBLED = Face(
    length_mm=245,
    width_mm=62,
    mouth=Mouth(from_mm=80, to_mm=86, left_mm=5.5, right_mm=56.5),
)
MEDLAR = ("240mm", "58mm", "79 mm to 85 mm, across 5 mm to 53 mm")
SMALL = 8.5
LONG, WIDE = 170.0, 60.0
MOUTH = (52.0, 60.0)
METAL, PLATE, WOOD, MARK, PALE = "#dfe3e8", "#f3efe4", "#d9b98c", "#b3261e", "#5f6670"
HIGH, LOW = "#8c1020", "#0b4a86"
Place = tuple[float, float]


def main(folder: Path) -> None:
    """Draw all pictures into a folder that exists."""
    with mpl.rc_context():
        mpl.rcdefaults()
        mpl.rcParams.update({"font.size": 9.5, "svg.hashsalt": "lapping"})
        for name, figure in (("frame", frame()), ("signs", signs())):
            figure.savefig(folder / f"{name}.svg", metadata={"Date": None})
            figure.savefig(folder / f"{name}.png", dpi=200)
    save_face_map(answer([read_file(SAMPLE)]), folder / "sole.png")
    (sheet,) = reading_sheet(sheet_of_sizes(Wanted(sizes=MEDLAR)))
    sheet.savefig(folder / "reading_sheet.png", dpi=110)
    seen = look(AFTER, SCRIBBLED, before=BEFORE, toe="left")
    save_contact(seen, folder / "contact.png")


def frame() -> Figure:
    """Draw one sole in every way it is looked at, one corner marked in all of them."""
    figure = Figure(figsize=(6.6, 9.6))
    one, two, three = (
        _panel(figure, (2.2 * i, 5.95, 2.2, 3.6), (-38, 98), (-205, 30))
        for i in range(3)
    )
    _sole_toe_away(one)
    _in_use(two)
    _on_the_plate(three)
    _sole_landscape(_panel(figure, (0, 3.55, 6.6, 2.3), (-45, 215), (-14, 77)))
    right, left = (
        _panel(figure, (1.75 * i, 0.1, 1.75, 3.4), (-30, 90), (-203, 30))
        for i in range(2)
    )
    _side(right, "5. The side at the\nright in use", top_is_left=True)
    _side(left, "6. The side at the\nleft in use", top_is_left=False)
    _lap(_panel(figure, (3.5, 0.1, 3.1, 3.4), (-38, 172), (-90, 140)))
    return figure


def _panel(
    figure: Figure,
    box_in: tuple[float, float, float, float],
    across: Place,
    up: Place,
) -> Axes:
    wide, tall = figure.get_size_inches()
    x, y, w, h = box_in
    ax = figure.add_axes((x / wide, y / tall, w / wide, h / tall))
    ax.set(xlim=across, ylim=up, aspect="equal")
    ax.axis("off")
    return ax


def _title(ax: Axes, text: str) -> None:
    ax.text(0.03, 0.995, text, va="top", weight="bold", transform=ax.transAxes)


def _arrow(ax: Axes, start: Place, end: Place, colour: str = "black") -> None:
    ax.annotate(
        "", end, start, arrowprops={"arrowstyle": "-|>", "color": colour, "lw": 1.3}
    )


def _say(
    ax: Axes,
    at: Place,
    text: str,
    turn: float = 0,
    color: str = "black",
    pt: float = 9.5,
) -> None:
    ax.text(*at, text, ha="center", va="center", rotation=turn, color=color, size=pt)


def _mark(ax: Axes, corner: Place, into: Place, *, below: bool = False) -> None:
    """Mark the toe-left corner of the sole; dashed where the body hides it."""
    x, y = corner
    dx, dy = into
    three = [(x, y), (x + dx, y), (x, y + dy)]
    filled = Polygon(three, fc="none" if below else MARK, ec=MARK, lw=1.3, zorder=5)
    filled.set_linestyle("--" if below else "-")
    ax.add_patch(filled)


def _sole_toe_away(ax: Axes) -> None:
    _title(ax, "1. Sole up, toe away:\nthe frame")
    ax.add_patch(Rectangle((0, -LONG), WIDE, LONG, fc=METAL, ec="black"))
    ax.add_patch(
        Rectangle(
            (5, -MOUTH[1]), WIDE - 10, MOUTH[1] - MOUTH[0], fc="white", ec="black"
        )
    )
    _mark(ax, (0, 0), (14, -14))
    _arrow(ax, (-10, 0), (-10, -75))
    _say(ax, (-10, -100), "along", 90)
    _say(ax, (-26, -85), "left edge", 90, color=PALE)
    _arrow(ax, (14, -22), (52, -22))
    _say(ax, (33, -33), "across")
    _say(ax, (WIDE / 2, -10), "toe")
    _say(ax, (WIDE / 2, -LONG + 10), "heel")
    _say(ax, (WIDE + 10, -85), "right edge", 90, color=PALE)
    _say(ax, (WIDE / 2, -LONG - 14), "red: toe-left corner,\nalong 0, across 0")


def _body(ax: Axes) -> None:
    """Draw a plane from above as it is pushed away: knob, iron and handle."""
    ax.add_patch(Rectangle((0, -LONG), WIDE, LONG, fc=METAL, ec="black"))
    ax.add_patch(Circle((WIDE / 2, -30), 11, fc=WOOD, ec="black"))
    ax.add_patch(Rectangle((15, -112), 30, 55, fc="white", ec="black"))
    grip = FancyBboxPatch((25, -155), 10, 35, boxstyle="round,pad=3", fc=WOOD, ec="k")
    ax.add_patch(grip)
    _mark(ax, (WIDE, 0), (-14, -14), below=True)


def _in_use(ax: Axes) -> None:
    _title(ax, "2. Sole down, in use:\nleft and right swap")
    _body(ax)
    _say(ax, (-12, -85), "sole's right edge", 90, color=PALE)
    _say(ax, (WIDE + 12, -85), "sole's left edge", 90, color=MARK)
    _say(ax, (WIDE / 2, -LONG - 14), "your right hand's side\nis the sole's left edge")


def _on_the_plate(ax: Axes) -> None:
    _title(ax, "3. Sole down, leaves:\nthey swap here too")
    ax.add_patch(Rectangle((-34, -184), 128, 190, fc=PLATE, ec=PALE, lw=0.8))
    _body(ax)
    for edge, out, text, colour in (
        (0.0, -1, "across\n58", PALE),
        (WIDE, 1, "across\n2", MARK),
    ):
        x = edge - 4 if out > 0 else edge - 24
        leaf = Rectangle((x, -100), 28, 9, fc="#8fa3b5", ec="black", lw=0.8, zorder=4)
        ax.add_patch(leaf)
        _say(ax, (edge + 17 * out, -118), text, color=colour)
    _say(ax, (WIDE / 2, -LONG - 24), "sole 60 mm wide, on a plate", color=PALE)


def _sole_landscape(ax: Axes) -> None:
    _title(ax, "4. In pictures: 1 turned a quarter, toe at the left")
    ax.add_patch(Rectangle((0, 0), LONG, WIDE, fc=METAL, ec="black"))
    ax.add_patch(
        Rectangle((MOUTH[0], 5), MOUTH[1] - MOUTH[0], WIDE - 10, fc="white", ec="black")
    )
    _mark(ax, (0, 0), (14, 14))
    _arrow(ax, (0, -8), (60, -8))
    _say(ax, (76, -8), "along")
    _say(ax, (LONG - 30, -8), "left edge", color=PALE)
    _arrow(ax, (-10, 0), (-10, 34))
    _say(ax, (-10, 50), "across", 90)
    _say(ax, (10, 38), "toe", 90)
    _say(ax, (LONG - 8, WIDE / 2), "heel", -90)
    _say(ax, (LONG - 30, WIDE + 6), "right edge", color=PALE)
    _say(ax, (LONG / 2 + 26, WIDE / 2), "height: + proud, towards you\n− hollow, away")


def _side(ax: Axes, title: str, *, top_is_left: bool) -> None:
    _title(ax, title)
    hump: list[Place] = [
        (0, 0),
        (0, -40),
        (-14, -70),
        (-14, -100),
        (0, -135),
        (0, -LONG),
    ]
    outline: list[Place] = [*hump, (44, -LONG), (44, 0)]
    if not top_is_left:
        outline = [(44 - x, y) for x, y in outline]
    shift = 8.0
    outline = [(x + shift, y) for x, y in outline]
    ax.add_patch(Polygon(outline, fc=METAL, ec="black"))
    _arrow(ax, (shift + 4, -24), (shift + 38, -24))
    _say(ax, (shift + 22, -34), "across")
    _say(ax, (shift + 22, -10), "toe")
    _say(ax, (shift + 22, -LONG + 10), "heel")
    names = ("top edge", "sole edge") if top_is_left else ("sole edge", "top edge")
    left, right = (-15, 62) if top_is_left else (-2, 75)
    _say(ax, (left, -85), names[0], 90, color=PALE)
    _say(ax, (right, -85), names[1], -90, color=PALE)
    word = "top" if top_is_left else "sole"
    _say(ax, (shift + 22, -LONG - 18), f"left_edge: {word}")


def _lap(ax: Axes) -> None:
    _title(ax, "7. A lap or plate:\nno toe, no heel")
    ax.add_patch(Rectangle((0, 0), 140, 90, fc=PLATE, ec="black"))
    _arrow(ax, (0, -10), (48, -10))
    _say(ax, (68, -10), "along")
    _arrow(ax, (-10, 0), (-10, 34))
    _say(ax, (-10, 52), "across", 90)
    _say(ax, (12, 45), "left end", 90)
    _say(ax, (128, 45), "right end", -90)
    _say(ax, (70, 80), "far edge", color=PALE)
    _say(ax, (70, 10), "near edge", color=PALE)
    _say(ax, (70, -42), "you stand here\nand say which end\nis the left one")


def signs() -> Figure:
    """Draw the signs of bow and twist, and the zones of a sole to scale."""
    figure = Figure(figsize=(6.6, 6.2))
    for i, (name, sign) in enumerate((("Crown: bow +", 1), ("Hollow: bow −", -1))):
        ax = _panel(figure, (3.3 * i, 4.7, 3.3, 1.45), (-10, 150), (-32, 38))
        _title(ax, name)
        _bow(ax, sign)
    for i, sign in enumerate((1, -1)):
        ax = _panel(figure, (3.3 * i, 2.55, 3.3, 2.0), (-25, 165), (-32, 78))
        _title(ax, f"Twist {'+' if sign > 0 else '−'}")
        _twist(ax, sign)
    _zones(_panel(figure, (0, 0, 6.6, 2.5), (-38, 288), (-34, 92)))
    return figure


def _bow(ax: Axes, sign: int) -> None:
    """Draw a face from its edge, face up, the bow far too large."""
    along = [3.5 * i for i in range(41)]
    arc = [sign * 14 * (1 - (a / 70 - 1) ** 2) for a in along]
    colour = HIGH if sign > 0 else LOW
    shape = [*zip(along, arc, strict=True), (140.0, -26.0), (0.0, -26.0)]
    ax.add_patch(Polygon(shape, fc=METAL, ec="none"))
    ax.plot(along, arc, color="black", lw=1.5)
    ax.plot([0, 140], [0, 0], color=PALE, lw=0.8, ls="--")
    _arrow(ax, (70, 0), (70, sign * 14.0), colour)
    _say(ax, (104, 20), "from the line through\nboth ends", color=colour, pt=SMALL)
    _say(ax, (10, -20), "toe")
    _say(ax, (128, -20), "heel")


def _twist(ax: Axes, sign: int) -> None:
    ax.add_patch(Rectangle((0, 0), 140, 56, fc=METAL, ec="black"))
    _mark(ax, (0, 0), (10, 10))
    for x, y, high in ((14, 14, 1), (14, 44, -1), (126, 44, 1), (126, 14, -1)):
        up = high * sign > 0
        colour = HIGH if up else LOW
        _say(ax, (x, y), "high" if up else "low", color=colour)
    ax.plot([26, 114], [17, 41], color=HIGH if sign > 0 else LOW, lw=1)
    ax.plot([26, 114], [41, 17], color=LOW if sign > 0 else HIGH, lw=1)
    _say(ax, (-10, 28), "toe", 90)
    _say(ax, (150, 28), "heel", -90)
    _say(ax, (70, -8), "left edge", color=PALE)
    pair = "toe-left, heel-right" if sign > 0 else "toe-right, heel-left"
    _say(ax, (70, -22), f"{pair} high")


def _zones(ax: Axes) -> None:
    """Draw the zones from their stated extents on a sole of 250 × 60 mm."""
    face = Face(length_mm=250, width_mm=60, mouth=Mouth(from_mm=80, to_mm=86))
    _title(ax, "Zones of a sole of 250 × 60 mm")
    ax.add_patch(Rectangle((0, 0), 250, 60, fc="white", ec="black"))
    ax.add_patch(Rectangle((80, 5), 6, 50, fc="#bbbbbb", ec="black", zorder=3))
    for zone in face.zones():
        is_edge = zone.name.endswith("edge")
        corner = (zone.along_from_mm, zone.across_from_mm)
        wide = zone.along_to_mm - zone.along_from_mm
        tall = zone.across_to_mm - zone.across_from_mm
        colour = "#f2c14e" if is_edge else "#7fb069"
        ax.add_patch(
            Rectangle(corner, wide, tall, fc=colour, alpha=0.55, ec=PALE, lw=0.6)
        )
        if is_edge:
            _say(ax, (150, zone.across_from_mm + tall / 2), zone.name, pt=SMALL)
        else:
            words = "land" if zone.name == "mouth" else zone.name
            _say(ax, (zone.along_from_mm + wide / 2, 30), words, 90)
            span = f"{zone.along_from_mm:g}–{zone.along_to_mm:g}"
            _say(ax, (zone.along_from_mm + wide / 2, -8), span)
    _say(ax, (83, 68), "mouth")
    _say(ax, (168, 30), "middle")
    _say(ax, (268, 3), "0–6", pt=SMALL)
    _say(ax, (268, 57), "54–60", pt=SMALL)
    _say(ax, (125, -24), "mm along from the toe; mm across at the right", color=PALE)


if __name__ == "__main__":
    main(Path(sys.argv[1]) if sys.argv[1:] else ROOT / "docs" / "pictures")
