"""A short run of random inputs; `python -m tests.fuzz` is the long one."""

from __future__ import annotations

import random

import pytest

from tests.fuzz.spoil import spoilt
from tests.fuzz.targets import TARGETS, WORDS, seeds

FEW = {"units": 3000, "readings": 500, "pictures": 400, "folders": 40}


@pytest.mark.parametrize("name", TARGETS)
def test_spoilt_input_is_answered_or_refused_in_words(name: str) -> None:
    lot, whole = random.Random(20), seeds(name)
    for _ in range(FEW[name]):
        TARGETS[name](spoilt(lot, whole, WORDS[name]))


@pytest.mark.parametrize("name", TARGETS)
def test_whole_input_is_answered_or_refused_in_words(name: str) -> None:
    for data in seeds(name):
        TARGETS[name](data)
