"""A short day on both databases; `make day SEED=…` plays a long one and prints what it came to."""

import os

import pytest

from tests.day.day import close, play
from tests.day.garage import garage

SEED = os.environ.get("DAY_SEED", "")


@pytest.mark.postgres
def test_a_day_adds_up(unit, clock, capsys) -> None:
    size = 6 if SEED else 2
    day = play(unit, clock.advance, int(SEED or 1), size=size)
    garage(day, size)
    lines = close(day)
    if SEED:
        with capsys.disabled():
            print("", f"day of seed {SEED}", *lines, sep="\n  ")


@pytest.mark.skipif(bool(SEED), reason="a fault is planted in the short form alone")
def test_a_day_that_lost_a_cent_is_noticed(unit, clock) -> None:
    day = play(unit, clock.advance, 2, size=1)
    next(iter(day.purses.values())).received += 1
    with pytest.raises(AssertionError):
        close(day)
