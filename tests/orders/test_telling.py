"""Being told: once for each cause, not at night, not of what is switched off, and in time."""

from datetime import UTC, datetime, timedelta

import pytest
import sqlalchemy as sa

from portal.notices.outbox import deliver_due
from portal.notices.transport import MemoryWire
from portal.orders.customer.preparing import tick
from portal.orders.kernel.notifications import letter_ready, letter_received
from portal.orders.kernel.telling import choose, switch_off, telling
from portal.orders.office.reminding import remind
from portal.shop.moves import JobState
from portal.shop.states import LetterKind, LetterState
from portal.shop.telling import CHOICES
from portal.store.tables import Job, Letter
from tests.factories import a_booked_job
from tests.orders.test_preparing import ON_TYRES

# a Tuesday in the works' own week, far from any change of the clock
NOON = datetime(2026, 6, 2, 11, 0, tzinfo=UTC)
NIGHT = datetime(2026, 6, 2, 22, 30, tzinfo=UTC)  # half past eleven in London


@pytest.fixture
def job(unit, clock):
    clock.set(NOON)
    return a_booked_job(unit, ON_TYRES, dropoff=timedelta(days=3))


def letters(unit):
    with unit.read() as session:
        return session.scalars(sa.select(Letter).order_by(Letter.id)).all()


def tell(unit, job, verb) -> bool:
    return unit.write(lambda session: verb(unit, session, session.get_one(Job, job.job_id)))


def put(unit, job, **values) -> None:
    change = sa.update(Job).where(Job.id == job.job_id).values(**values)
    unit.write(lambda session: session.execute(change))


def test_the_reminder_comes_the_day_before_once_with_what_is_still_on(unit, job, clock) -> None:
    tick(unit, job.token, {"A-tyre", "A-valve", "A-sensor"})
    clock.set(NOON + timedelta(days=1))
    assert remind(unit) == 0
    clock.set(NOON + timedelta(days=2))
    assert (remind(unit), remind(unit)) == (1, 0)
    (letter,) = letters(unit)
    for told in ("Wheel weights", "Centre cap", f"/J/{job.token}/prepare"):
        assert told in letter.text
    assert "- Tyre" not in letter.text
    # another time is another cause
    put(unit, job, dropoff_at=NOON + timedelta(days=3, hours=2))
    assert remind(unit) == 1


def test_who_booked_for_tomorrow_has_just_read_it_all(unit, clock) -> None:
    clock.set(NOON)
    a_booked_job(unit, dropoff=timedelta(hours=22))
    assert remind(unit) == 0


@pytest.mark.parametrize(
    ("after", "due"), [(timedelta(days=2), 0), (timedelta(days=3), 1), (timedelta(days=6), 0)]
)
def test_nuts_are_checked_again_some_days_after_the_pickup(unit, job, clock, after, due) -> None:
    put(unit, job, state=JobState.HANDED_BACK, handed_back_at=NOON)
    clock.set(NOON + after)
    assert (remind(unit), remind(unit)) == (due, 0)
    # the handbook wins, and nobody knows how far they drove
    assert all("handbook" in one.text and "three days" in one.text for one in letters(unit))


def test_nothing_leaves_at_night_and_what_answers_the_customer_does(unit, job, clock) -> None:
    clock.set(NIGHT)
    tell(unit, job, letter_ready)
    (letter,) = letters(unit)
    # eight in the morning by the works' clock, which is an hour ahead in summer
    assert letter.next_at == datetime(2026, 6, 3, 7, 0, tzinfo=UTC)
    wire = MemoryWire()
    assert deliver_due(unit, wire, mail_from="works@example.com").sent == 0
    clock.set(letter.next_at)
    assert deliver_due(unit, wire, mail_from="works@example.com").sent == 1


def test_each_kind_is_switched_off_alone_and_on_again(unit, job) -> None:
    for _ in range(2):
        switch_off(unit, job.token, LetterKind.RECEIVED)
    assert telling(unit, job.token).off == {LetterKind.RECEIVED}
    assert tell(unit, job, letter_received) is None
    tell(unit, job, letter_ready)
    assert [(one.kind, one.state) for one in letters(unit)] == [
        (LetterKind.RECEIVED, LetterState.SWITCHED_OFF),
        (LetterKind.READY, LetterState.QUEUED),
    ]
    choose(unit, job.token, set(CHOICES), by_text=False)
    assert telling(unit, job.token).off == frozenset()


def test_a_letter_says_how_one_press_switches_its_kind_off(unit, job) -> None:
    tell(unit, job, letter_ready)
    wire = MemoryWire()
    deliver_due(unit, wire, mail_from="works@example.com")
    (message,) = wire.sent
    # RFC 8058, section 3.1
    assert message["List-Unsubscribe"] == f"<{unit.base_url}/J/{job.token}/news/ready>"
    assert message["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
