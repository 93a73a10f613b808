"""When to leave a paper for the next: the fewest strokes in all, the finer ones too."""

from __future__ import annotations

import numpy as np
import pytest

from lapping.advice.next_grit import hidden_under_um
from lapping.advice.papers_ahead import fewest_strokes
from lapping.grits import parse_grit

P80, P120, P240 = map(parse_grit, ("P80", "P120", "P240"))
RATES = {P80: 10.0, P120: 6.0, P240: 3.0}


def test_scratches_of_one_paper_hide_under_the_next_ones_own() -> None:
    """A tenth of the grain each, ISO 6344: 201, 125 and 58.5 µm."""
    assert hidden_under_um(P80, P120) == pytest.approx(7.6, abs=0.05)
    assert hidden_under_um(P120, P240) == pytest.approx(6.65, abs=0.05)
    assert hidden_under_um(P240, P80) == 0.0


@pytest.mark.parametrize(
    ("dose_um", "first"), [(0.0, P120), (14.0, P120), (17.0, P80), (60.0, P80)]
)
def test_a_paper_is_left_where_the_finer_ones_do_the_rest(
    dose_um: float, first: object
) -> None:
    """P120 and P240 take off 14.25 µm for the scratches; what is beyond costs more.

    Of 17 µm 2.75 are left: 46 strokes on P120, and 30 on P80, the fewest that are made.
    P240 does not come after P80 while P120 is on hand.
    """
    way = fewest_strokes(RATES, np.array([dose_um]), finish=P240, scratched_by=P80)
    assert way[0] == first
    assert way[-2:] == (P120, P240)


def test_a_small_rest_is_no_reason_to_stay() -> None:
    """1 µm beyond 14.25 is 17 strokes on P120; on P80 nobody makes fewer than 30."""
    way = fewest_strokes(RATES, np.array([15.25]), finish=P240, scratched_by=P80)
    assert way == (P120, P240)
