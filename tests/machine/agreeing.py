"""Whether the portal says of a job what the model says, and what holds of all jobs together."""

from collections import Counter
from collections.abc import Sequence

import sqlalchemy as sa

from portal.orders.counter.job_view import job_view
from portal.orders.customer.status_view import status
from portal.orders.kernel.errors import Expired
from portal.orders.kernel.ledger import account_of
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.ledger import EntryKind
from portal.store.tables import Booking, Invoice, Job, LedgerEntry, Move, NumberSeries, Part
from tests.machine.model import JobModel


def agrees(unit: UnitOfWork, one: JobModel) -> None:
    """Raise AssertionError where state, parts, tags, money or place are not the model's."""
    job_id = one.job.job_id
    with unit.read() as session:
        state = session.scalar(sa.select(Job.state).where(Job.id == job_id))
        rows = session.execute(
            sa.select(Part.number, Part.stage, Part.tag).where(Part.job_id == job_id)
        ).all()
        account = account_of(session, job_id)
        places = session.scalar(
            sa.select(sa.func.count()).select_from(Booking).where(Booking.job_id == job_id)
        )
        events = list(
            session.scalars(sa.select(Move.id).where(Move.job_id == job_id).order_by(Move.id))
        )
    assert state == one.state
    assert {number: stage for number, stage, _ in rows} == one.stages
    assert {number: tag for number, _, tag in rows if tag is not None} == one.tags
    purse = one.purse
    assert account.owed.minor == purse.owed
    assert account.total.minor == purse.price - purse.off
    assert (account.paid.minor, account.refunded.minor) == (purse.received, purse.returned)
    assert places == one.placed
    assert events[: len(one.event_ids)] == one.event_ids, "an event has gone"
    one.event_ids = events
    _is_read(unit, one)


def _is_read(unit: UnitOfWork, one: JobModel) -> None:
    """The counter's page and the customer's say the same state, or the link is over."""
    seen = job_view(unit, one.job.code)
    assert seen.row.state == one.state
    assert seen.account.owed.minor == one.purse.owed
    try:
        page = status(unit, one.job.token)
    except Expired:
        return
    assert page.state == one.state


def numbers_have_no_gap(unit: UnitOfWork) -> None:
    """Every series of documents counts from one to its last number, and each payment has one."""
    with unit.read() as session:
        last = dict(session.execute(sa.select(NumberSeries.series, NumberSeries.last)).all())
        rows = session.execute(sa.select(Invoice.series, Invoice.count)).all()
        paid = set(
            session.scalars(sa.select(LedgerEntry.id).where(LedgerEntry.kind == EntryKind.PAYMENT))
        )
        issued = set(session.scalars(sa.select(Invoice.entry_id)))
    counts: dict[str, list[int]] = {}
    for series, count in rows:
        counts.setdefault(series, []).append(count)
    for series, top in last.items():
        assert sorted(counts.get(series, [])) == list(range(1, top + 1)), series
    assert issued - {None} <= paid


def tags_are_on_one_part(unit: UnitOfWork, models: Sequence[JobModel]) -> None:
    """No tag is on two parts, and no drop-off place is taken twice."""
    with unit.read() as session:
        worn = Counter(session.scalars(sa.select(Part.tag).where(Part.tag.is_not(None))))
        places = Counter(session.execute(sa.select(Booking.window_start, Booking.place)).all())
    assert all(times == 1 for times in (*worn.values(), *places.values()))
    assert set(worn) == {tag for one in models for tag in one.tags.values()}
