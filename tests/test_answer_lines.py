"""Whole answers from files of lines, sticks, levels and squares, by the command."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from lapping.answer import answer
from lapping.cli import main
from lapping.readings import EdgeReading, ReadingSet
from tests.made_lines import (
    SQUARE,
    Line,
    along_line,
    edge_set,
    gaps_under,
    slopes_of,
    usual_lines,
)
from tests.made_readings import (
    Shape,
    form_shape,
    grid_places,
    leaves_under,
    read_shape,
)

Array = NDArray[np.float64]
Json = dict[str, Any]
Check = Callable[..., Json]
SHAPE = form_shape(along_bow=-60, across_bow=6, twist=50)
STICKS = "0,250,600,500,right"
"""By similar triangles 500 µm over 600 mm is 50 µm over the face."""


@pytest.fixture
def said(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> Callable[..., tuple[int, str, str]]:
    """Write files, named by method, and run the command on them in this process."""
    monkeypatch.chdir(tmp_path)

    def runs(files: dict[str, str], *options: str) -> tuple[int, str, str]:
        for name, text in files.items():
            (tmp_path / name).write_text(text, encoding="utf-8")
        given = [name for name in files if not name.startswith("_")]
        monkeypatch.setattr(sys, "argv", ["lapping", "check", *given, *options])
        with pytest.raises(SystemExit) as left:
            main()
        out, err = capsys.readouterr()
        code = left.value.code
        return 0 if code is None else int(code), out, err

    return runs


@pytest.fixture
def check(said: Callable[..., tuple[int, str, str]]) -> Check:
    def runs(files: dict[str, str], *options: str) -> Json:
        code, out, err = said(files, "--json", *options)
        assert (code, err) == (0, "")
        found = json.loads(out)
        assert isinstance(found, dict)
        return found

    return runs


def header(
    method: str, columns: str, rows: Iterable[Sequence[Any]], *extra: str
) -> str:
    """Give the text of a readings file of the made face."""
    lines = [f"# method: {method}", "# face: sole", "# length: 250 mm",
             "# width: 60 mm"]  # fmt: skip
    lines += [f"# {one}" for one in extra]
    return "\n".join([*lines, columns, *(",".join(map(str, row)) for row in rows), ""])


def edge_file(
    shape: Shape, lines: Sequence[Line], *extra: str, step: float = 1.0, **edge: Any
) -> str:
    rows = [
        (name, a, c, round(gap / step) * step)
        for name, a, c, gap in gaps_under(shape, lines, **edge)
    ]
    return header("straightedge", "line,along,across,reading", rows, "unit: um", *extra)


def sticks_file(*rows: str) -> str:
    return header("winding", "along_1,along_2,stick,gap,high", [], "unit: um") + (
        "\n".join(rows) + "\n"
    )


def dial_file(shape: Shape, *extra: str) -> str:
    rows = [(a, c, round(v)) for a, c, v in read_shape(grid_places(5, 3), shape)]
    return header(
        "dial", "along,across,reading", rows,
        "unit: um", "sense: high-positive", "repeatability: 1 um", *extra,
    )  # fmt: skip


def leaves_file(shape: Shape, *extra: str) -> str:
    rim = [(a, c) for c in (0.0, 60.0) for a in np.linspace(0, 250, 6).tolist()]
    rim += [(0.0, 30.0), (250.0, 30.0)]
    rows = [
        (a, c, goes, "" if stops is None else stops)
        for a, c, goes, stops, _ in leaves_under(
            rim, lambda a, c: 70 - shape(a, c), tuple(np.arange(10.0, 300, 10))
        )
    ]
    return header("feeler", "along,across,goes,stops", rows, "unit: um", *extra)


def close(found: Json, true: float, least: float = 1.0) -> bool:
    """Say whether a figure with its uncertainty holds the true one."""
    return bool(abs(found["um"] - true) <= max(least, 2.5 * found["u_um"]))


# --- A straightedge alone


def test_lines_along_and_across_do_not_measure_twist(check: Check) -> None:
    found = check({"edge.csv": edge_file(SHAPE, usual_lines(SQUARE))})
    assert set(found["twist"]) == {"not_measured"}
    assert close(found["along_bow"], -60)
    assert close(found["across_bow"], 6)
    flatness = found["flatness"]
    assert flatness["likely_um"] is None
    low, high = flatness["interval_um"]
    # Hollow by 60 along and crowned by 6 across: 66 and not less, whatever the twist.
    assert 55 < low < 66.5
    assert high is None
    for name in ("minimum_zone_um", "least_squares_um", "peak_um", "valley_um",
                 "rms_um", "noise_floor_um", "bracket_um", "certificate"):  # fmt: skip
        assert flatness[name] is None, name
    assert found["probability"] is None
    assert found["verdict"] == "cannot tell"
    assert found["working"]["verdict"] == "cannot tell"
    assert all(z["height_um"] is None for z in found["working"]["zones"])
    assert (found["high_spots"], found["low_spots"]) == ([], [])
    assert found["rest"]["rocks"] is None
    assert found["rest"]["touches"] == []
    (unseen,) = [s for s in found["not_seen"] if s.startswith("twist")]
    assert "diagonal from toe-left to heel-right" in unseen


def test_a_bow_that_is_too_much_is_not_flat_whatever_the_twist(check: Check) -> None:
    files = {"edge.csv": edge_file(SHAPE, usual_lines(SQUARE))}
    found = check(files, "--target", "20um")
    assert found["flatness"]["interval_um"][0] > 20
    assert found["flatness"]["interval_um"][1] is None
    assert found["verdict"] == "not flat"
    assert found["probability"] <= 0.05
    twisted = {"edge.csv": edge_file(form_shape(twist=500), usual_lines(SQUARE))}
    found = check(twisted, "--target", "20um")
    assert found["flatness"]["interval_um"] == [0, None]
    assert (found["verdict"], found["probability"]) == ("cannot tell", None)


def test_the_report_says_what_is_open_and_what_to_read(
    said: Callable[..., tuple[int, str, str]],
) -> None:
    code, text, _ = said({"edge.csv": edge_file(SHAPE, usual_lines(SQUARE))})
    assert code == 0
    words = " ".join(text.split())
    assert "Twist (wind) not measured" in words
    assert "upper limit not known" in words
    assert "read the diagonal from toe-left to heel-right" in words
    assert "both diagonals" in words
    assert max(len(line) for line in text.splitlines()) <= 80


@pytest.mark.parametrize("twist", [50.0, -50.0])
def test_with_diagonals_all_figures_are_there(check: Check, twist: float) -> None:
    shape = form_shape(along_bow=-60, across_bow=6, twist=twist)
    found = check({"edge.csv": edge_file(shape, usual_lines())})
    assert close(found["twist"], twist)
    assert found["twist"]["high_corners"] == (
        ["toe-left", "heel-right"] if twist > 0 else ["toe-right", "heel-left"]
    )
    assert found["twist"]["arcmin"] == pytest.approx(
        3.4377 * found["twist"]["um"] / 60, rel=1e-4
    )
    assert close(found["along_bow"], -60)
    assert close(found["across_bow"], 6)
    flatness = found["flatness"]
    # A saddle of ±1/4 of the twist at the corners, on a hollow of 60.
    assert flatness["interval_um"][0] < flatness["likely_um"]
    assert flatness["likely_um"] < flatness["interval_um"][1]
    assert flatness["minimum_zone_um"] == pytest.approx(flatness["likely_um"], rel=0.2)
    assert found["not_seen"] == []
    assert found["points"] == 25


def test_with_sticks_instead_of_diagonals(check: Check) -> None:
    found = check(
        {
            "edge.csv": edge_file(SHAPE, usual_lines(SQUARE)),
            "sticks.csv": sticks_file(STICKS, STICKS),
        }
    )
    assert found["methods"] == ["straightedge", "winding"]
    assert close(found["twist"], 50)
    assert found["flatness"]["likely_um"] is not None
    assert found["flatness"]["interval_um"][1] is not None
    assert found["verdict"] in ("flat", "cannot tell", "not flat")
    assert found["probability"] is not None


def test_sticks_alone(check: Check) -> None:
    found = check({"sticks.csv": sticks_file(STICKS)})
    assert close(found["twist"], 50)
    assert found["flatness"]["minimum_zone_um"] is None
    assert found["flatness"]["likely_um"] is None
    assert set(found["along_bow"]) == {"not_measured"}
    assert any(s.startswith("along-bow, across-bow") for s in found["not_seen"])


def test_an_edge_turned_end_for_end(check: Check) -> None:
    files = {
        f"{name}.csv": edge_file(
            SHAPE, usual_lines(), *extra, bow_um=0, snake_um=20, turned=bool(extra)
        )
        for name, extra in (("once", ()), ("again", ("turned: half",)))
    }
    found = check(files)
    assert found["turned"] == {
        "separated": ["S-shape of the edge"],
        "confounded": ["bow of the edge"],
    }
    for name, true in (("twist", 50), ("along_bow", -60), ("across_bow", 6)):
        assert close(found[name], true), name


def test_a_reading_that_does_not_fit_is_told(
    said: Callable[..., tuple[int, str, str]],
) -> None:
    twice = [*usual_lines(), *((f"{n} again", *rest) for n, *rest in usual_lines())]
    good = edge_file(SHAPE, twice)
    rows = good.splitlines()
    wrong = next(i for i, row in enumerate(rows) if row.startswith("centre,125.0,30.0"))
    name, a, c, gap = rows[wrong].split(",")
    rows[wrong] = f"{name},{a},{c},{float(gap) + 60:g}"
    _, fits, _ = said({"edge.csv": good})
    _, off, _ = said({"edge.csv": "\n".join(rows) + "\n"})
    assert "that is too much" not in " ".join(fits.split())
    assert "that is too much" in " ".join(off.split())


# --- Several methods on one face


def test_all_methods_on_one_face_are_one_answer(check: Check) -> None:
    lines = usual_lines(("left", "right", "centre", "toe", "heel"))
    slopes = header(
        "level", "line,along_1,across_1,along_2,across_2,slope",
        [(*row[:5], round(row[5])) for row in slopes_of(SHAPE, lines, [120.0] * 5)],
        "unit: um/m", "datum: gravity",
    )  # fmt: skip
    files = {
        "dial.csv": dial_file(SHAPE, "reference_flatness: 10 um"),
        "leaves.csv": leaves_file(SHAPE, "reference_flatness: 10 um"),
        "edge.csv": edge_file(SHAPE, usual_lines(), "reference_flatness: 10 um"),
        "level.csv": slopes,
        "sticks.csv": sticks_file(STICKS),
    }
    found = check(files)
    assert found["files"] == list(files)
    assert found["methods"] == ["dial", "feeler", "straightedge", "level", "winding"]
    for name, true in (("twist", 50), ("along_bow", -60), ("across_bow", 6)):
        assert close(found[name], true), name
    # A plate, an edge and sticks in doubt are less sure of twist than all together.
    for alone in ("dial.csv", "edge.csv", "sticks.csv"):
        one = check({alone: files[alone]})
        assert one["twist"]["u_um"] > found["twist"]["u_um"], alone
    # The order in which they are given is nothing but a datum.
    back = check(dict(reversed(list(files.items()))))
    assert back["twist"]["um"] == pytest.approx(found["twist"]["um"], abs=1.0)
    assert back["flatness"]["likely_um"] == pytest.approx(
        found["flatness"]["likely_um"], rel=0.1
    )


def test_a_union_jack_with_an_autocollimator(check: Check) -> None:
    """The 800 × 600 mm plate of tests/test_network.py, angles in arcsec: 137/9 µm."""

    def plate(along: Array, across: Array) -> Array:
        x, y = np.asarray(along) / 400 - 1, np.asarray(across) / 300 - 1
        return np.asarray(-8 * x**2 + 4 * y**2 + 6 * x * y)

    ends = [((0, 0), (800, 600), 11), ((0, 600), (800, 0), 11), ((0, 0), (800, 0), 9),
            ((0, 600), (800, 600), 9), ((0, 0), (0, 600), 7), ((800, 0), (800, 600), 7),
            ((0, 300), (800, 300), 9), ((400, 0), (400, 600), 7)]  # fmt: skip
    lines: list[Line] = [(str(i), *end) for i, end in enumerate(ends)]
    arcsec_per_um = 2.062648
    rows = []
    for line, tilt in zip(lines, np.linspace(-90, 90, 8).tolist(), strict=True):
        places = along_line(line)
        rises = np.diff(plate(*np.array(places).T)).tolist()
        rows += [
            (line[0], *one, *other, f"{rise * arcsec_per_um + tilt:.4f}")
            for one, other, rise in zip(places[:-1], places[1:], rises, strict=True)
        ]
    columns = "line,along_1,across_1,along_2,across_2,slope"
    extra = ("unit: arcsec", "datum: line", "repeatability: 0.1 arcsec")
    text = header("level", columns, rows, *extra)
    text = text.replace("face: sole", "face: lap")
    text = text.replace("250 mm", "800 mm").replace("60 mm", "600 mm")
    flatness = check({"level.csv": text})["flatness"]
    assert flatness["minimum_zone_um"] == pytest.approx(137 / 9, abs=1e-3)
    assert flatness["least_squares_um"] == pytest.approx(137 / 9, abs=1e-3)
    assert flatness["peak_um"] == pytest.approx(6.597576, abs=1e-3)
    assert flatness["valley_um"] == pytest.approx(8.624646, abs=1e-3)
    assert flatness["rms_um"] == pytest.approx(4.382534, abs=1e-3)


def test_a_quarter_turn_in_files(check: Check) -> None:
    """The plate winds by 15 µm under the face; turned, it winds the other way."""
    found = check(
        {
            "as_it_was.csv": dial_file(form_shape(along_bow=-60, twist=50 - 15)),
            "turned.csv": dial_file(
                form_shape(along_bow=-60, twist=50 + 15), "turned: quarter"
            ),
        }
    )
    assert close(found["twist"], 50)
    assert found["turned"]["separated"][0] == "twist"
    assert "sum of the plate's two bows" in found["turned"]["confounded"]


def test_a_measured_plate(check: Check, said: Callable[..., Any]) -> None:
    """A lap with 80 µm of crown along 500 mm has a quarter of it under the face."""
    crown = [
        (a, c, round(-80 * (a / 250 - 1) ** 2))
        for c in np.linspace(0, 300, 5).tolist()
        for a in np.linspace(0, 500, 9).tolist()
    ]
    lap = header("dial", "along,across,reading", crown, "unit: um",
                 "sense: high-positive", "repeatability: 1 um")  # fmt: skip
    lap = lap.replace("face: sole", "face: lap")
    lap = lap.replace("250 mm", "500 mm").replace("60 mm", "300 mm")
    # Over a crown of 20 µm a flat face seems 20 µm hollow.
    face = dial_file(form_shape(along_bow=-20), "reference_at: 125 mm, 120 mm")
    files = {"_lap.csv": lap, "face.csv": face}
    assert close(check(files)["along_bow"], -20)
    found = check(files, "--reference", "_lap.csv")
    assert abs(found["along_bow"]["um"]) < max(2.0, 2 * found["along_bow"]["u_um"])
    placed = face.replace("# reference_at: 125 mm, 120 mm\n", "")
    code, out, err = said({**files, "face.csv": placed}, "--reference", "_lap.csv")
    assert (code, out) == (2, "")
    assert "reference_at" in err


def test_a_square_beside_an_edge(check: Check) -> None:
    files = {
        "edge.csv": edge_file(SHAPE, usual_lines()),
        "square.csv": header("square", "along,gap,side",
                             [(20, 30, "top"), (230, 30, "top")], "unit: um"),
    }  # fmt: skip
    files = {name: text.replace("face: sole", "face: side\n# left_edge: sole")
             for name, text in files.items()}  # fmt: skip
    found = check(files)
    assert found["squareness"]["um"] == -30
    assert found["squareness"]["arcmin"] == pytest.approx(-1.7189, abs=1e-4)
    assert found["flatness"]["likely_um"] is not None


@pytest.mark.parametrize(
    ("unit", "per_um"), [("mm", 1e-3), ("thou", 1 / 25.4), ("0.0005in", 1 / 12.7)]
)
def test_the_unit_of_the_gaps_is_nothing_but_a_unit(
    check: Check, unit: str, per_um: float
) -> None:
    gaps = gaps_under(SHAPE, usual_lines())
    one, other = (
        check(
            {
                "edge.csv": header(
                    "straightedge", "line,along,across,reading",
                    [(*row[:3], f"{row[3] * scale:.9f}") for row in gaps],
                    f"unit: {name}", "repeatability: 2 um",
                )
            }
        )
        for name, scale in (("um", 1.0), (unit, per_um))
    )  # fmt: skip
    assert other["flatness"]["likely_um"] == pytest.approx(
        one["flatness"]["likely_um"], rel=1e-4
    )
    assert other["twist"]["um"] == pytest.approx(one["twist"]["um"], rel=1e-4)


# --- What must change nothing, or change it in a known way

FEW = settings(max_examples=4, deadline=None, suppress_health_check=list(HealthCheck))
SEEDS = st.integers(0, 10_000)


def bumpy(seed: int) -> Shape:
    """Give a form with a bump, of some tens of micrometres."""
    rng = np.random.default_rng(seed)
    form = form_shape(
        along_bow=rng.normal(0, 40), across_bow=rng.normal(0, 8),
        twist=rng.normal(0, 50),
    )  # fmt: skip
    a0, c0, size, high = rng.uniform([0, 0, 15, -15], [250, 60, 40, 15])

    def shape(along: Array, across: Array) -> Array:
        d2 = (np.asarray(along) - a0) ** 2 + (np.asarray(across) - c0) ** 2
        return np.asarray(form(along, across) + high * np.exp(-d2 / (2 * size**2)))

    return shape


def measured(seed: int, names: Sequence[str] | None = None) -> ReadingSet:
    lines = usual_lines(names) if names else usual_lines()
    return edge_set(gaps_under(bumpy(seed), lines), repeatability_um=2.0)


def moved(
    readings: ReadingSet, change: Callable[[int, EdgeReading], EdgeReading]
) -> ReadingSet:
    edges = [r for r in readings.readings if isinstance(r, EdgeReading)]
    return replace(readings, readings=tuple(map(change, range(len(edges)), edges)))


def figures(readings: ReadingSet) -> tuple[float, float, float, float]:
    found = answer([readings])
    assert found.zone is not None
    assert found.likely.likely_um is not None
    assert found.form.twist is not None
    assert found.form.along_bow is not None
    return (
        found.zone.width_um,
        found.likely.likely_um,
        found.form.twist.um,
        found.form.along_bow.um,
    )


@given(seed=SEEDS)
@FEW
def test_how_high_and_how_tilted_the_edge_lay_changes_nothing(seed: int) -> None:
    rng = np.random.default_rng(seed)
    lifts = {line[0]: rng.normal(0, 200, 3) for line in usual_lines()}

    def lifted(_: int, r: EdgeReading) -> EdgeReading:
        up, along, across = lifts[r.line_name]
        extra = float(up + along * r.along_mm / 250 + across * r.across_mm / 60)
        assert r.gap_um is not None
        return replace(r, gap_um=r.gap_um + extra, goes_um=r.gap_um + extra)

    plain = measured(seed)
    one, other = figures(plain), figures(moved(plain, lifted))
    assert other == pytest.approx(one, rel=1e-4, abs=1e-3)


@given(seed=SEEDS)
@FEW
def test_the_order_of_rows_and_the_names_of_lines_change_nothing(seed: int) -> None:
    plain = measured(seed)
    named = moved(plain, lambda _, r: replace(r, line_name=f"line {r.line_name}"))
    back = replace(named, readings=named.readings[::-1])
    assert figures(back) == pytest.approx(figures(plain), rel=0.05, abs=1.0)


@given(seed=SEEDS)
@FEW
def test_end_for_end_twist_keeps_its_sign_and_mirrored_it_changes(seed: int) -> None:
    plain = measured(seed)
    turned = moved(
        plain, lambda _, r: replace(r, along_mm=250 - r.along_mm,
                                    across_mm=60 - r.across_mm)
    )  # fmt: skip
    mirrored = moved(plain, lambda _, r: replace(r, across_mm=60 - r.across_mm))
    zone, likely, twist, bow = figures(plain)
    for other, sign in ((turned, 1), (mirrored, -1)):
        assert figures(other) == pytest.approx(
            (zone, likely, sign * twist, bow), rel=0.06, abs=1.5
        )


@given(seed=SEEDS)
@FEW
def test_twice_the_gaps_are_twice_the_face(seed: int) -> None:
    plain = measured(seed)
    double = moved(
        plain,
        lambda _, r: replace(r, gap_um=2 * (r.gap_um or 0), goes_um=2 * r.goes_um),
    )
    double = replace(double, repeatability_um=4.0)
    doubled = tuple(2 * value for value in figures(plain))
    assert figures(double) == pytest.approx(doubled, rel=1e-6, abs=1e-6)


@given(seed=SEEDS, twist=st.floats(-500, 500))
@settings(FEW, max_examples=2)
def test_an_unseen_twist_changes_no_answer(seed: int, twist: float) -> None:
    """Whatever it is, the gaps along and across are the same to the last figure."""
    shape = bumpy(seed)

    def twisted(along: Array, across: Array) -> Array:
        more = form_shape(twist=twist)(along, across)
        return np.asarray(shape(along, across) + more)

    one, other = (
        answer([edge_set(gaps_under(s, usual_lines(SQUARE)), repeatability_um=2.0)])
        for s in (shape, twisted)
    )
    assert one.unseen == other.unseen == ("twist",)
    assert other.likely.interval_um[0] == pytest.approx(
        one.likely.interval_um[0], rel=1e-6, abs=1e-6
    )
