"""Ready parts that nobody collects: two reminders, then an end that frees the tags."""

from datetime import UTC, datetime, timedelta
from itertools import product

import pytest
import sqlalchemy as sa

from portal.orders.counter import hand_back, unfetched
from portal.orders.counter.hand_back_undo import may_undo, undo_hand_back
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.ledger import account_of
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.shop.states import LetterKind
from portal.shop.works import KeepRules
from portal.store.letters import Letter
from portal.store.tables import Part
from tests.factories import a_job_at, events, state
from tests.orders.at_the_door import add_odd
from tests.orders.test_hand_back import all_of, give
from tests.readers import refusing

DAYS = timedelta(days=1)


@pytest.fixture
def ready(unit):
    job = a_job_at(unit, PartStage.DONE)
    hand_back.make_ready(unit, job.job_id, who=None)
    return job


def reminders(unit) -> int:
    with unit.read() as session:
        query = sa.select(sa.func.count()).where(Letter.kind == LetterKind.NOT_FETCHED)
        return session.scalar(query)


def tags(unit) -> list[str | None]:
    with unit.read() as session:
        return list(session.scalars(sa.select(Part.tag).order_by(Part.number)))


def test_a_customer_is_reminded_after_two_weeks_and_two_weeks_before_the_end(
    unit, ready, clock
) -> None:
    for days, sent in ((13, 0), (2, 1), (10, 1), (50, 1), (2, 2), (20, 2)):
        clock.advance(days=days)
        for _ in range(2):
            unfetched.remind_unfetched(unit)
        assert reminders(unit) == sent, days
    assert len(events(unit, ready, "reminded")) == 2


def test_nobody_is_reminded_more_than_three_times_and_always_before_the_first_ends(
    unit, ready, clock
) -> None:
    """Ended and back on the shelf: then the last one before the end is left, and then none."""
    days: list[int] = []
    for day in range(2, 400, 2):
        clock.advance(days=2)
        before = reminders(unit)
        unfetched.remind_unfetched(unit)
        days += [day] * (reminders(unit) - before)
        if day in (100, 200, 300):
            unfetched.end_unfetched(unit, ready.job_id, "rack 9", who=None)
            unfetched.back_on_shelf(unit, ready.job_id, who=None)
    assert days == [14, 76, 100 + 76]


def test_no_setting_of_a_shop_makes_more_than_three() -> None:
    since = datetime(2026, 6, 1, tzinfo=UTC)
    for after, keep, last in product((1, 14, 365), (14, 90, 1000), (1, 14, 365)):
        rules = KeepRules(remind_after_days=after, keep_ready_days=keep, last_reminder_days=last)
        planned = unfetched.reminders_of(rules, since, unfetched.MOST_REMINDERS)
        assert 1 <= len(planned) <= unfetched.MOST_REMINDERS == 3


def test_a_job_is_ended_only_when_the_time_of_the_terms_is_over(unit, ready, clock) -> None:
    with refusing(Refused, "The parts are kept for 90 days"):
        unfetched.end_unfetched(unit, ready.job_id, "rack 9", who=None)
    clock.advance(days=91)
    with refusing(Refused, "Enter where the parts are now"):
        unfetched.end_unfetched(unit, ready.job_id, " ", who=None)
    unfetched.end_unfetched(unit, ready.job_id, "rack 9", who=None)
    assert state(unit, ready) is JobState.NOT_FETCHED
    assert tags(unit) == [None] * 4
    with unit.read() as session:  # what is unpaid stays due
        assert account_of(session, ready.job_id).owed.minor > 0


def test_a_customer_who_comes_after_all_gets_the_parts(unit, ready, clock) -> None:
    clock.advance(days=91)
    unfetched.end_unfetched(unit, ready.job_id, "rack 9", who=None)
    unfetched.back_on_shelf(unit, ready.job_id, who=None)
    assert state(unit, ready) is JobState.READY
    with refusing(Refused, "You can't do this now"):
        unfetched.back_on_shelf(unit, ready.job_id, who=None)
    give(unit, ready, all_of(unit, ready, bags=()))
    assert state(unit, ready) is JobState.HANDED_BACK


def test_a_hand_back_is_taken_back_by_whoever_made_it_for_a_quarter_of_an_hour_then_by_the_office(
    unit, ready, clock
) -> None:
    odd = add_odd(unit)
    own_since = {"who": odd, "office": False}
    give(unit, ready, all_of(unit, ready, bags=()), who=odd)
    assert may_undo(unit, ready.job_id, **own_since)
    assert not may_undo(unit, ready.job_id, who=None, office=False)
    clock.advance(minutes=16)
    assert not may_undo(unit, ready.job_id, **own_since)
    with refusing(Refused, "Later the office can"):
        undo_hand_back(unit, ready.job_id, "wrong car", **own_since)
    undo_hand_back(unit, ready.job_id, "wrong car", who=odd, office=True)
    assert state(unit, ready) is JobState.READY
    assert tags(unit) == ["101", "102", "103", "104"]
    with unit.read() as session:
        account = account_of(session, ready.job_id)
    assert account.paid.minor == 0
    # and it can be handed back again, with its letter
    give(unit, ready, all_of(unit, ready, bags=()), who=odd)
    assert state(unit, ready) is JobState.HANDED_BACK


def test_a_tag_that_went_to_another_part_is_named(unit, ready) -> None:
    give(unit, ready, all_of(unit, ready, bags=()))
    other = a_job_at(unit, PartStage.DONE, name="Sam Sample")
    assert state(unit, other) is JobState.IN_WORK
    gone = undo_hand_back(unit, ready.job_id, "wrong car", who=None, office=True)
    assert gone == ("101", "102", "103", "104")
