"""The margins of promises: learned by kind and horizon, shrunk where little is known, fading."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from portal.shop.scheduling.margins import (
    HALF_LIFE,
    LEAST,
    MOST_MINUTES,
    START,
    Margins,
    PastPromise,
    horizon_of,
    kind_of,
    learn_margins,
)
from portal.shop.states import Horizon, OrderKind
from tests.shop.floors import a_job, a_work

NOW = datetime(2026, 6, 1, 8, tzinfo=UTC)
SET, TRADE = OrderKind.SET, OrderKind.TRADE_BATCH
NEAR, FAR = Horizon.NEAR, Horizon.FAR


def past(needs, kind=SET, horizon=NEAR, age=timedelta(0)) -> list[PastPromise]:
    return [PastPromise(kind, horizon, float(one), NOW - age) for one in needs]


def normal(count: int, mean: float, seed: int = 1, deviation: float = 60.0):
    return np.random.default_rng(seed).normal(mean, deviation, count)


@pytest.mark.parametrize(
    ("parts", "work", "kind"),
    [
        (1, {}, OrderKind.FEW_PARTS),
        (2, {}, OrderKind.FEW_PARTS),
        (4, {}, SET),
        (12, {}, TRADE),
        (2, {"outside_days": 2}, OrderKind.OUTSIDE_STRIP),
        (30, {"outside_days": 2}, OrderKind.OUTSIDE_STRIP),
    ],
)
def test_an_order_is_of_one_kind(parts, work, kind):
    assert kind_of(a_job(1, a_work(**work), parts=parts)) is kind


@pytest.mark.parametrize(
    ("days", "horizon"),
    [(0, NEAR), (2, NEAR), (2.1, Horizon.SOON), (5.1, FAR), (10, FAR), (10.1, Horizon.FURTHEST)],
)
def test_a_horizon_is_counted_in_working_days(days, horizon):
    assert horizon_of(days) is horizon


def test_a_new_shop_has_the_prior():
    assert learn_margins([], 95, NOW) == Margins(
        START, dict.fromkeys(Horizon, 0.0), learn_margins([], 95, NOW).kinds
    )
    assert learn_margins([], 95, NOW).of(SET, NEAR) == START
    assert learn_margins([], 95, NOW).of(TRADE, NEAR) > START


@pytest.mark.parametrize("percent", [80, 95])
def test_many_promises_show_what_each_kind_and_horizon_needs(percent):
    record = [
        *past(normal(400, 0, 1)),
        *past(normal(400, 300, 2), horizon=FAR),
        *past(normal(400, 200, 3), kind=TRADE),
    ]
    np.random.default_rng(4).shuffle(record)  # type: ignore[arg-type]
    learned = learn_margins(record, percent, NOW)
    # the percentile of a normal distribution: 0.8416 and 1.6449 deviations above its mean; what is
    # learned is still drawn towards the prior by a quarter
    above = 60 * (0.8416 if percent == 80 else 1.6449)
    for mean, kind, horizon in ((0, SET, NEAR), (300, SET, FAR), (200, TRADE, NEAR)):
        assert learned.of(kind, horizon) == pytest.approx(mean + above, abs=75)


def test_few_promises_move_little():
    few = learn_margins(past([900.0] * 3), 95, NOW)
    many = learn_margins(past([900.0] * 300), 95, NOW)
    assert START < few.of(SET, NEAR) < START + 120
    assert many.of(SET, NEAR) > 750


def test_a_bad_week_fades_with_time_alone():
    bad = [*past(normal(200, 0), age=HALF_LIFE), *past([2_000.0] * 20, age=HALF_LIFE)]
    soon = learn_margins(bad, 95, NOW - HALF_LIFE).of(SET, NEAR)
    later = learn_margins([*bad, *past(normal(150, 0, 5))], 95, NOW).of(SET, NEAR)
    assert soon > 600
    assert later < soon / 2


def test_no_record_makes_a_margin_absurd():
    late = learn_margins(past([1e6] * 500), 95, NOW)
    early = learn_margins(past([-1e6] * 500), 95, NOW)
    assert late.of(SET, NEAR) == MOST_MINUTES
    assert early.of(SET, NEAR) == LEAST


def test_the_order_of_the_record_does_not_matter_where_all_are_of_one_age_and_few():
    record = [*past(normal(10, 0)), *past(normal(10, 100, 2), kind=TRADE)]
    forth, back = learn_margins(record, 95, NOW), learn_margins(record[::-1], 95, NOW)
    assert forth.of(SET, NEAR) == pytest.approx(back.of(SET, NEAR), abs=5)
