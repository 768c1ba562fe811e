"""Letters about dates, over drawn sequences of forecasts and in single cases."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.shop.calendar.working_minutes import minutes_between
from portal.shop.scheduling.date_letters import (
    AGREE,
    DRIVE,
    REMINDERS,
    DateNews,
    DateWatch,
    Look,
    follow,
    is_late,
    made_late_by_others,
)
from portal.shop.works import DateRules
from tests.deep import examples
from tests.shop.floors import MONDAY, WEEK

RULES = DateRules(later_than_hours=3)
FRIDAY = datetime(2026, 6, 5, 14, 0, tzinfo=UTC)
LATER, ON_TIME, REMINDER = DateNews


@dataclass
class Told:
    """One letter: when it was due, which, and what the customer was told before and after."""

    at: datetime
    news: DateNews
    before: datetime
    after: datetime
    look: Look


def hours(of: timedelta) -> float:
    return of.total_seconds() / 3600


def play(looks: list[Look], rules: DateRules = RULES) -> list[Told]:
    """Return the letters of a sequence of looks."""
    watch, told = DateWatch(), []
    for look in looks:
        before = watch.told_at or look.promise_at
        watch, news = follow(watch, look, rules, WEEK)
        if news:
            told.append(Told(look.now, news, before, watch.told_at or look.promise_at, look))
    return told


def look(at: datetime, safe: datetime, **more: bool) -> Look:
    """Return a look that foresees a job an hour before it is safe."""
    return Look(at, FRIDAY, safe - timedelta(hours=1), safe, **more)


@st.composite
def forecasts(draw: st.DrawFn) -> list[Look]:
    """Forecasts every 10 to 200 minutes that swing as they like around a promise."""
    at, found = MONDAY, []
    for _ in range(draw(st.integers(1, 30))):
        at += timedelta(minutes=draw(st.integers(10, 200)))
        safe = FRIDAY + timedelta(hours=draw(st.integers(-60, 90)))
        likely = safe - timedelta(hours=draw(st.integers(0, 40)))
        found.append(
            Look(
                at,
                FRIDAY,
                max(at, likely),
                max(at, safe),
                here=draw(st.integers(0, 9)) > 0,
                awaited=draw(st.integers(0, 5)) == 0,
            )
        )
    return found


@examples(60)
@given(forecasts(), st.integers(0, 24))
def test_whatever_the_forecast_does_letters_keep_to_the_rule(looks, most):
    rules = DateRules(later_than_hours=most)
    told = play(looks, rules)
    for one in told:
        assert one.look.here
        assert one.look.awaited == (one.news is REMINDER)
        if one.news is LATER:
            assert hours(one.after - one.before) > most
            assert one.after == one.look.safe_at
        if one.news is ON_TIME:
            assert one.after == FRIDAY < one.before
            assert one.look.safe_at <= FRIDAY
    days = [(one.news, WEEK.local(one.at).date()) for one in told]
    assert len(days) == len(set(days))
    assert sum(one.news is REMINDER for one in told) <= REMINDERS * (
        1 + sum(not one.awaited for one in looks)
    )
    # each "on time after all" takes back a later date that was told
    dates = [one.news for one in told if one.news is not REMINDER]
    assert all(before is LATER for before, now in pairwise(dates) if now is ON_TIME)
    assert dates[:1] != [ON_TIME]


@examples(60)
@given(forecasts())
def test_a_later_date_is_told_after_two_looks_that_agree_or_just_before_a_drive(looks):
    watch, since = DateWatch(), None
    for one in looks:
        held = (watch.told_at or FRIDAY) if one.here else FRIDAY
        late = is_late(DateWatch(told_at=held), one, RULES)
        since = (since or one.now) if late else None
        watch, news = follow(watch, one, RULES, WEEK)
        if news is LATER:
            waited = minutes_between(WEEK, since, one.now)
            left = minutes_between(WEEK, one.now, held - DRIVE)
            assert waited >= AGREE or waited + left < AGREE
            since = None


@examples(60)
@given(forecasts())
def test_the_day_that_is_probable_never_passes_the_promise_and_never_goes_back(looks):
    watch, shown = DateWatch(), None
    for one in looks:
        watch, _ = follow(watch, one, RULES, WEEK)
        if watch.early_from is not None:
            assert watch.early_from < WEEK.local(watch.told_at or FRIDAY).date()
            assert one.here
            assert not one.awaited
            # while it stands it does not move
            assert shown in (None, watch.early_from)
        shown = watch.early_from


def test_a_forecast_that_comes_back_within_two_hours_tells_nothing():
    late, fine = FRIDAY + timedelta(days=5), FRIDAY
    swings = [look(MONDAY + timedelta(minutes=100 * n), (fine, late)[n % 2]) for n in range(20)]
    assert [one.news for one in play(swings[:19])] == []


def test_a_late_job_is_told_once_and_again_when_it_is_later_still():
    late = FRIDAY + timedelta(days=3)
    looks = [look(MONDAY + timedelta(minutes=10 * n), late) for n in range(40)]
    later = late + timedelta(days=1)
    looks += [look(MONDAY + timedelta(days=1, minutes=10 * n), later) for n in range(40)]
    assert [(one.news, one.after) for one in play(looks)] == [(LATER, late), (LATER, later)]


def test_after_a_later_date_was_told_the_next_one_needs_two_looks_of_its_own():
    late = FRIDAY + timedelta(days=3)
    looks = [look(MONDAY + timedelta(hours=n), late) for n in (1, 4)]
    watch = DateWatch()
    for one in looks:
        watch, news = follow(watch, one, RULES, WEEK)
    assert (news, watch.told_at, watch.late_since) == (LATER, late, None)


def test_a_late_job_that_comes_back_is_told_that_it_is_on_time():
    looks = [look(MONDAY + timedelta(hours=n), FRIDAY + timedelta(days=3)) for n in (1, 4)]
    looks += [look(MONDAY + timedelta(hours=n), FRIDAY) for n in (5, 6, 8)]
    assert [one.news for one in play(looks)] == [LATER, ON_TIME]


@pytest.mark.parametrize(
    ("promised_in", "letters"), [(1, [LATER]), (3, [LATER]), (30, [])], ids=["now", "soon", "later"]
)
def test_one_look_is_enough_where_a_second_one_comes_too_late(promised_in, letters):
    promise = MONDAY + timedelta(hours=promised_in)
    safe = promise + timedelta(days=1)
    once = Look(MONDAY, promise, safe, safe)
    assert [one.news for one in play([once])] == letters


def test_a_few_hours_later_is_no_letter():
    looks = [look(MONDAY + timedelta(hours=n), FRIDAY + timedelta(hours=3)) for n in range(1, 60)]
    assert play(looks) == []


def test_who_has_to_answer_is_reminded_and_not_told_another_date():
    late = FRIDAY + timedelta(days=4)
    looks = [look(MONDAY + timedelta(hours=n), late, awaited=True) for n in range(1, 400)]
    told = play(looks)
    assert [one.news for one in told] == [REMINDER] * REMINDERS
    assert all(after.at - before.at > timedelta(days=1) for before, after in pairwise(told))


def test_nothing_is_told_of_what_was_not_brought():
    late = FRIDAY + timedelta(days=9)
    looks = [look(MONDAY + timedelta(hours=n), late, here=False) for n in range(99)]
    assert play(looks) == []


def test_a_new_promise_takes_the_place_of_what_was_told():
    watch = DateWatch(promise_at=FRIDAY, told_at=FRIDAY + timedelta(days=3))
    agreed = FRIDAY + timedelta(days=5)
    after, news = follow(watch, Look(MONDAY, agreed, FRIDAY, FRIDAY), RULES, WEEK)
    assert (after.told_at, after.promise_at, news) == (None, agreed, None)


def test_an_earlier_day_is_told_when_it_has_stood_for_half_a_day():
    wednesday = datetime(2026, 6, 3, 15, 0, tzinfo=UTC)
    watch = DateWatch()
    shown = []
    for n in range(1, 7):
        watch, _ = follow(watch, look(MONDAY + timedelta(hours=n), wednesday), RULES, WEEK)
        shown.append(watch.early_from)
    assert shown[0] is None
    assert shown[-1] == wednesday.date()
    watch, _ = follow(watch, look(MONDAY + timedelta(hours=8), FRIDAY - timedelta(1)), RULES, WEEK)
    assert watch.early_from is None


def test_later_customers_alone_are_no_reason():
    late = FRIDAY + timedelta(days=3)
    looks = {1: look(MONDAY, late), 2: look(MONDAY, late), 3: look(MONDAY, FRIDAY)}
    watches = dict.fromkeys(looks, DateWatch())
    alone = {1: (FRIDAY, FRIDAY), 2: (late, late), 3: (FRIDAY, FRIDAY)}
    assert made_late_by_others(looks, watches, RULES, lambda: alone) == {1}
    calm = {3: looks[3]}
    assert made_late_by_others(calm, watches, RULES, lambda: pytest.fail("asked")) == frozenset()
