"""The order of papers: the fewest strokes there can be, and steps too large."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lapping.errors import BadInput
from lapping.grits import Grit, grits_of, parse_grit
from lapping.planning.sequence import (
    LARGE_STEP,
    PaperPlan,
    is_large_step,
    order_papers,
    scratch_um,
)
from lapping.wear.rate_prior import Rate

P = {grit.number: grit for grit in grits_of("P")}
USUAL = [number for number in P if number is not None and 60 <= number <= 600]


def rates(*numbers: int, **own: float) -> dict[Grit, Rate]:
    """Give papers whose rate is their grain over 50, in µm per 100 strokes."""
    return {
        P[number]: Rate(
            um_per_100=own.get(f"p{number}", P[number].grain_um / 50), spread=0.5
        )
        for number in numbers
    }


def names(plan: PaperPlan) -> list[str]:
    return [step.grit.name for step in plan.steps]


def strokes_of(
    path: tuple[Grit, ...], papers: dict[Grit, Rate], shape_um: float, share: float
) -> float:
    """Count a way's strokes straight from what they mean; no end if it leaps over."""
    total = shape_um / papers[path[0]].um_per_100 * 100
    for coarse, fine in itertools.pairwise(path):
        between = [g for g in papers if fine.grain_um < g.grain_um < coarse.grain_um]
        if coarse.grain_um / fine.grain_um > LARGE_STEP and between:
            return math.inf
        total += share * coarse.grain_um / papers[fine].um_per_100 * 100
    return total


@given(
    st.lists(st.sampled_from(USUAL), min_size=1, max_size=7, unique=True),
    st.floats(0.1, 400),
    st.floats(0.05, 1),
    st.integers(0, 2**32 - 1),
)
@settings(max_examples=150, deadline=None)
def test_no_other_order_takes_fewer_strokes(
    numbers: list[int], shape_um: float, share: float, seed: int
) -> None:
    # Every subset of the papers that ends on the finest, coarse to fine: all there is.
    rng = np.random.default_rng(seed)
    papers = {
        P[n]: Rate(um_per_100=float(rng.uniform(0.2, 5)), spread=0.5)
        for n in sorted(numbers)
    }
    plan = order_papers(papers, shape_um=shape_um, scratch_share=share)
    ordered = tuple(papers)
    every = [
        strokes_of((*some, ordered[-1]), papers, shape_um, share)
        for size in range(len(ordered))
        for some in itertools.combinations(ordered[:-1], size)
    ]
    assert plan.strokes[1] == pytest.approx(min(every), rel=1e-9)


def test_a_general_shortest_path_is_as_long() -> None:
    # scipy's Dijkstra over the same nodes: a start, and every paper.
    from scipy.sparse.csgraph import dijkstra

    papers = rates(80, 100, 120, 150, 180, 220, 240, 320, 400)
    grits, shape_um, share = list(papers), 37.0, 0.3
    cost = np.zeros((len(grits) + 1, len(grits) + 1))
    for j, fine in enumerate(grits):
        cost[0, j + 1] = shape_um / papers[fine].um_per_100 * 100
        for i, coarse in enumerate(grits[:j]):
            step = share * coarse.grain_um / papers[fine].um_per_100 * 100
            over = coarse.grain_um / fine.grain_um > LARGE_STEP and j - i > 1
            cost[i + 1, j + 1] = 0.0 if over else step  # 0 is no edge there
    length = dijkstra(cost, indices=0)[-1]
    plan = order_papers(papers, shape_um=shape_um, scratch_share=share)
    assert plan.strokes[1] == pytest.approx(length, rel=1e-9)


def test_a_job_worked_by_hand() -> None:
    # 400 µm at 4 µm in 100 strokes: 10000 on P80. Its scratches, 0.3 · 201 = 60.3 µm,
    # at 3: 2010 on P120. Those of P120, 37.5 µm, at 1: 3750 on P240. From P120 on it
    # would be 13333 and 3750.
    papers = rates(80, 120, 240, p80=4, p120=3, p240=1)
    plan = order_papers(papers, shape_um=400, scratch_share=0.3, sheet_strokes=200)
    assert names(plan) == ["P80", "P120", "P240"]
    assert [step.removes_um for step in plan.steps] == pytest.approx([400, 60.3, 37.5])
    assert [step.strokes[1] for step in plan.steps] == pytest.approx(
        [10000, 2010, 3750]
    )
    assert [step.sheets[1] for step in plan.steps] == [50, 11, 19]
    assert plan.strokes[1] == pytest.approx(15760)
    assert plan.sheets[1] == 80
    assert plan.large_steps == ()
    # Nine in ten of a log-normal of spread 0.5: a factor of exp(1.645 · 0.5) = 2.28.
    few, likely, many = plan.strokes
    assert likely / few == pytest.approx(2.276, abs=0.001)
    assert many / likely == pytest.approx(2.276, abs=0.001)


def test_a_small_job_does_not_start_coarse() -> None:
    papers = rates(80, 120, 240, 400)
    assert names(order_papers(papers, shape_um=2)) == ["P400"]
    assert names(order_papers(papers, shape_um=300))[0] == "P80"


def test_a_step_too_large_is_named_with_a_grade_between() -> None:
    plan = order_papers(rates(80, 400), shape_um=200)
    (large,) = plan.large_steps
    assert (large.coarse.name, large.fine.name) == ("P80", "P400")
    assert large.ratio == pytest.approx(201 / 35)
    # Even in proportion: √(201 · 35) = 83.9 µm, and P180 has 82.
    assert large.between is not None
    assert large.between.name == "P180"
    # With it on hand there is no large step.
    assert order_papers(rates(80, 180, 400), shape_um=200).large_steps == ()


def test_neighbours_of_every_usual_series_are_no_large_steps() -> None:
    # Grit series printed for flattening soles (common practice, no source).
    for series in ((80, 120, 220, 320), (80, 120, 180, 320), (120, 220, 400)):
        for coarse, fine in itertools.pairwise(series):
            assert not is_large_step(P[coarse], P[fine])
    assert is_large_step(P[80], P[240])


def test_a_large_step_with_no_grade_between_is_still_named() -> None:
    rate = Rate(um_per_100=1, spread=0.5)
    papers = {parse_grit("P12"): rate, parse_grit("P24"): rate, parse_grit("1um"): rate}
    papers[parse_grit("1um")] = Rate(um_per_100=0.01, spread=0.5)
    plan = order_papers(papers, shape_um=10000, scratch_share=0.5)
    assert [large.fine.name for large in plan.large_steps] == ["1um"]
    film = {
        parse_grit("3um"): rate,
        parse_grit("1um"): Rate(um_per_100=1e-3, spread=0.5),
    }
    (large,) = order_papers(film, shape_um=50).large_steps
    assert large.between is None


def test_scratches_already_there_come_off_too() -> None:
    papers = rates(80, 120, 240)
    done = order_papers(papers, shape_um=0, scratched_by=P[120])
    assert names(done) == ["P240"]
    assert done.steps[0].removes_um == pytest.approx(0.1 * 125)
    # As coarse as before: only the shape is left to do there.
    again = order_papers(papers, shape_um=100, scratched_by=P[80])
    assert names(again)[0] == "P80"
    assert again.steps[0].removes_um == pytest.approx(100)
    # Finer than before: shape and scratches together.
    finer = order_papers(rates(120, 240), shape_um=100, scratched_by=P[80])
    assert finer.steps[0].removes_um == pytest.approx(100 + 0.1 * 201)
    leap = order_papers(rates(400), shape_um=0, scratched_by=P[80])
    assert [one.coarse.name for one in leap.large_steps] == ["P80"]


def test_nothing_to_do_is_an_empty_plan() -> None:
    plan = order_papers(rates(80, 240), shape_um=0, scratched_by=P[240])
    assert plan.steps == ()
    assert plan.strokes == (0, 0, 0)
    assert plan.sheets == (0, 0, 0)
    assert plan.large_steps == ()


def test_the_paper_to_finish_on_may_be_a_coarser_one() -> None:
    papers = rates(80, 120, 240)
    assert names(order_papers(papers, shape_um=100))[-1] == "P240"
    assert names(order_papers(papers, shape_um=100, finish=P[120])) == ["P80", "P120"]


def test_a_shape_not_well_known_widens_the_range_of_the_first_paper_alone() -> None:
    papers = rates(80, 120)
    sure = order_papers(papers, shape_um=100)
    unsure = order_papers(papers, shape_um=100, shape_spread=0.5)
    # Independent factors of a log-normal: √(0.5² + 0.5²).
    few, likely, many = unsure.steps[0].strokes
    assert math.log(many / likely) == pytest.approx(1.6449 * math.sqrt(0.5))
    assert math.log(likely / few) == pytest.approx(1.6449 * math.sqrt(0.5))
    assert unsure.steps[1].strokes == sure.steps[1].strokes


@given(st.floats(0, 300), st.floats(0, 300))
@settings(max_examples=50, deadline=None)
def test_more_to_take_off_never_takes_fewer_strokes(one: float, other: float) -> None:
    papers = rates(80, 120, 180, 240, 400)
    less, more = sorted((one, other))
    few = order_papers(papers, shape_um=less).strokes
    many = order_papers(papers, shape_um=more).strokes
    assert few[1] <= many[1] + 1e-9


def test_another_paper_on_hand_never_takes_more_strokes_or_large_steps() -> None:
    some = order_papers(rates(80, 240), shape_um=200)
    more = order_papers(rates(80, 120, 240), shape_um=200)
    assert len(more.large_steps) < len(some.large_steps)
    most = order_papers(rates(80, 120, 180, 240), shape_um=200)
    assert most.strokes[1] <= more.strokes[1]


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"finish": P[400]}, "P400 to finish on is not among.*P80, P120"),
        ({"shape_um": -1.0}, "'shape_um' must be 0 or more"),
        ({"shape_um": float("nan")}, "'shape_um' must be 0 or more"),
        ({"scratch_share": 0.0}, "more than 0 and at most 1 of the grain"),
    ],
)
def test_a_plan_that_cannot_be_is_refused(
    wrong: dict[str, float | Grit], sentence: str
) -> None:
    with pytest.raises(BadInput, match=sentence):
        order_papers(rates(80, 120), **{"shape_um": 10.0, **wrong})


def test_no_papers_or_no_rate_is_refused() -> None:
    with pytest.raises(BadInput, match="no papers are on hand"):
        order_papers({}, shape_um=10)
    with pytest.raises(BadInput, match="P80: a rate must be more than 0"):
        order_papers(rates(80, p80=0), shape_um=10)


def test_scratches_are_a_share_of_the_grain() -> None:
    # Common practice, no source: 0.1 to 0.5 of the grain's size.
    assert 0.1 * 201 <= scratch_um(P[80]) <= 0.5 * 201
    assert scratch_um(P[80], 0.5) == pytest.approx(100.5)
