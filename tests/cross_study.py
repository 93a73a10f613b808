"""How often ink and gauge are said to disagree, rightly and wrongly.

Faces are drawn from the population stated below, read with a simulated gauge the right
way or with ends or sides swapped, pressed on paper as in `made_ink`, and checked by
the same code as everybody's. Run it with

    python -m tests.cross_study               # 400 faces, some minutes
    python -m tests.cross_study --faces 40    # a quick look

Population (invented, so that no real face is claimed): soles 150 to 450 mm long and 40
to 75 mm wide, three in five with a mouth; one of twist, crown, hollow and waves alone,
or all of them, with up to four bumps and a lean of one end; heights times a severity,
log-uniform from 0.3 to 2.5. Dial readings of 5x3 to 12x5 places that repeat to 1 to 10
µm, or leaves round the rim. A flat face would sink 4 to 30 µm under the hand, which
bears up to a tenth of length and width off the middle and may swing by up to 0.15 of
the length to either side; up to two fifths of the ink is not seen, the rest in patches
and with noise.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lapping.answer import Answer, answer
from lapping.contact_map import ContactMap
from lapping.cross_check.flips import ORIENTATIONS, CrossCheck, Orientation, cross_check
from lapping.face import Face, Mouth
from lapping.grid import metal_grid
from lapping.readings import ReadingSet
from lapping.resting import support_under
from tests.made_ink import Hand, Seen, ink_map
from tests.made_readings import (
    Shape,
    dial_set,
    feeler_set,
    grid_places,
    leaves_under,
    read_shape,
)

Array = NDArray[np.float64]
KINDS = ("twist", "crown", "hollow", "waves", "mixed")
PATTERNS = ((5, 3), (7, 3), (9, 5), (12, 5))
LEAVES = (30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 100.0, 150.0, 200.0, 250.0, 300.0, 400.0)


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """One face, how it is, how it was read and how it was rubbed."""

    kind: str
    face: Face
    shape: Shape
    method: str
    pattern: tuple[int, int]
    noise_um: float
    hand: Hand
    seen: Seen


def draw(rng: np.random.Generator) -> Drawn:
    """Draw one face from the population."""
    face = Face(length_mm=rng.uniform(150, 450), width_mm=rng.uniform(40, 75))
    if rng.random() < 0.6:
        front, left = rng.uniform(0.2, 0.4) * face.length_mm, 5.0
        mouth = Mouth(
            from_mm=front,
            to_mm=front + 6,
            left_mm=left,
            right_mm=face.width_mm - left,
        )
        face = replace(face, mouth=mouth)
    kind = str(rng.choice(KINDS))
    low, high = np.log(4), np.log(30)
    return Drawn(
        kind=kind,
        face=face,
        shape=_shape(rng, face, kind),
        method="feeler" if rng.random() < 0.15 else "dial",
        pattern=PATTERNS[rng.integers(len(PATTERNS))],
        noise_um=float(np.exp(rng.uniform(0, np.log(10)))),
        hand=Hand(
            sinks_um=float(np.exp(rng.uniform(low, high))),
            dose=float(rng.uniform(0.5, 2.5)),
            swing=float(rng.choice([0.0, rng.uniform(0, 0.15)])),
            off=(float(rng.uniform(-0.1, 0.1)), float(rng.uniform(-0.1, 0.1))),
        ),
        seen=Seen(
            noise=0.05,
            patchy=float(rng.uniform(0, 0.05)),
            scale=float(rng.uniform(0.85, 1.05)),
            gaps=float(rng.choice([0.0, rng.uniform(0, 0.4)])),
        ),
    )


def _shape(rng: np.random.Generator, face: Face, kind: str) -> Shape:
    twist, bow, cross = rng.normal(0, (40, 40, 15))
    lean = rng.normal(0, 15)
    ripple, wave = rng.uniform(0, 6), rng.uniform(40, 120)
    if kind == "twist":
        bow = cross = lean = 0.0
    elif kind in ("crown", "hollow"):
        sign = 1 if kind == "crown" else -1
        twist, bow, cross = 0.0, sign * abs(bow), sign * abs(cross)
    elif kind == "waves":
        twist = bow = cross = 0.0
        ripple = rng.uniform(5, 20)
    bumps = [
        (
            rng.uniform(0, face.length_mm),
            rng.uniform(0, face.width_mm),
            np.exp(rng.uniform(np.log(12), np.log(40))),
            rng.normal(0, 15),
        )
        for _ in range(0 if kind in ("crown", "hollow") else rng.integers(0, 5))
    ]
    turn, phase = rng.uniform(0, 2 * np.pi, 2)
    severity = np.exp(rng.uniform(np.log(0.3), np.log(2.5)))

    def shape(along: Array, across: Array) -> Array:
        a = 2 * np.asarray(along) / face.length_mm - 1
        c = 2 * np.asarray(across) / face.width_mm - 1
        z = -bow * a**2 - cross * c**2 + twist / 2 * a * c + lean * (a**3 - 0.6 * a)
        for x, y, radius, height in bumps:
            d2 = (along - x) ** 2 + (across - y) ** 2
            z = z + height * np.exp(-d2 / (2 * radius**2))
        way = along * np.cos(turn) + across * np.sin(turn)
        return severity * (z + ripple * np.sin(2 * np.pi * way / wave + phase))

    return shape


def entered(face: Face, shape: Shape, orientation: Orientation) -> Shape:
    """Give the shape that is read when places are entered in this orientation."""
    ends, sides = ORIENTATIONS[orientation]

    def turned(along: Array, across: Array) -> Array:
        return shape(
            face.length_mm - along if ends else along,
            face.width_mm - across if sides else across,
        )

    return turned


def read(rng: np.random.Generator, drawn: Drawn, shape: Shape) -> ReadingSet:
    """Read a face with the gauge that was drawn."""
    face = drawn.face
    if drawn.method == "dial":
        places = [
            p for p in grid_places(*drawn.pattern, face=face) if face.is_metal(*p)
        ]
        noise = drawn.noise_um
        rows = [
            (a, c, float(round(v + 0.1 * a + rng.normal(0, noise))))
            for a, c, v in read_shape(places, shape)
        ]
        u = float(np.hypot(noise, 1 / 12**0.5))
        return dial_set(rows, face=face, repeatability_um=u)
    grid = metal_grid(face, 1200)
    height = shape(grid.along_mm, grid.across_mm)
    resting = support_under(
        grid.along_mm,
        grid.across_mm,
        height,
        (face.length_mm / 2, face.width_mm / 2),
    )
    assert resting is not None
    top = height + resting.gap_um
    terms = np.column_stack([np.ones_like(top), grid.along_mm, grid.across_mm])
    plane = np.linalg.lstsq(terms, top, rcond=None)[0]

    def gap(along: Array, across: Array) -> Array:
        return plane[0] + plane[1] * along + plane[2] * across - shape(along, across)

    rim = [
        p
        for p in grid_places(max(7, drawn.pattern[0]), 3, face=face, edge_mm=0.0)
        if face.at_rim(*p) and face.is_metal(*p)
    ]
    return feeler_set(
        leaves_under(rim, gap, LEAVES), face=face, reference_flatness_um=0.0
    )


@dataclass(frozen=True, kw_only=True)
class Tried:
    """One check of one face."""

    seed: int
    drawn: Drawn
    true: Orientation
    answer: Answer
    ink: ContactMap
    checked: CrossCheck

    @property
    def twist_over_doubt(self) -> float:
        """Give how many standard uncertainties the twist is."""
        twist = self.answer.form.twist
        assert twist is not None
        return abs(twist.um) / twist.u_um


def tried(seeds: Iterable[int], *, turned: bool) -> Iterator[Tried]:
    """Check faces, entered the right way or each in one of the wrong ways."""
    for seed in seeds:
        rng = np.random.default_rng([seed, 11])
        drawn = draw(rng)
        ink = ink_map(rng, drawn.face, drawn.shape, drawn.hand, drawn.seen)
        wrong: list[Orientation] = ["heel for toe", "left for right", "turned round"]
        true: Orientation = wrong[seed % 3] if turned else "as entered"
        found = answer([read(rng, drawn, entered(drawn.face, drawn.shape, true))])
        checked = cross_check(found, ink)
        if isinstance(checked, CrossCheck):
            yield Tried(
                seed=seed,
                drawn=drawn,
                true=true,
                answer=found,
                ink=ink,
                checked=checked,
            )


def share(name: str, ones: list[bool]) -> str:
    """Give one line of the table."""
    part = f"{sum(ones) / len(ones):.1%}" if ones else "none to count"
    return f"| {name} | {sum(ones)} of {len(ones)} | {part} |"


def main() -> None:
    """Print how often what was said."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--faces", type=int, default=400)
    parser.add_argument("--from-seed", type=int, default=0)
    parser.add_argument("--each", action="store_true", help="a line for every face")
    args = parser.parse_args()
    seeds = range(args.from_seed, args.from_seed + args.faces)
    right, wrong = [], []
    for kept, turned in ((right, False), (wrong, True)):
        for one in tried(seeds, turned=turned):
            kept.append(one)
            if args.each:
                print(line(one), flush=True)
    mirrored = [t for t in wrong if t.true != "turned round"]
    clear = [t for t in mirrored if t.twist_over_doubt >= 2.5]
    said = [t for t in wrong if t.checked.flipped]
    print("| what | count | share |\n| --- | --- | --- |")
    print(share("right way, said to be turned", [t.checked.flipped for t in right]))
    print(
        share(
            "right way, said to be the right way",
            [t.checked.verdict == "as entered" for t in right],
        )
    )
    print(
        share("right way, no conflict said", [not t.checked.conflicts for t in right])
    )
    print(share("wrong way, found", [t.checked.flipped for t in wrong]))
    print(share("mirrored, twist at least 2.5 u", [t.checked.flipped for t in clear]))
    for least in (15, 25, 40):
        big = [t for t in clear if abs(t.answer.form.twist.um) >= least]
        print(
            share(f"the same and at least {least} µm", [t.checked.flipped for t in big])
        )
    print(
        share(
            "found, and named as it was or left open",
            [t.true in t.checked.may_be for t in said],
        )
    )
    print(
        share(
            "found, and named alone as it was",
            [t.checked.may_be == (t.true,) for t in said],
        )
    )


def line(t: Tried) -> str:
    """Tell one face in a line."""
    twist = t.answer.form.twist
    chances = " ".join(f"{f.probability:.3f}" for f in t.checked.fits)
    misfits = " ".join(f"{f.misfit:.3f}" for f in t.checked.fits)
    moved = " ".join(f"{f.moved_um:.0f}" for f in t.checked.fits)
    return (
        f"{t.seed} {t.drawn.kind} {t.drawn.method} u={t.drawn.noise_um:.1f} "
        f"{t.true} -> {t.checked.verdict} [{chances}] misfit [{misfits}] "
        f"moved [{moved}] twist {twist.um:.0f}/{twist.u_um:.0f} "
        f"sinks {t.drawn.hand.sinks_um:.0f} {t.checked.conflicts}"
    )


if __name__ == "__main__":
    main()
