"""Holds the database against what was pressed: acknowledged is there once, and money adds up."""

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.orders.kernel.ledger import accounts_of
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.ledger import EntryKind
from portal.shop.moves import JobState
from portal.shop.states import LetterState
from portal.shop.verbs import EventVerb
from portal.store.tables import (
    Booking,
    Customer,
    Draft,
    Invoice,
    Job,
    LedgerEntry,
    Letter,
    Move,
    NumberSeries,
    Part,
)
from tests.faults.post_office import PostOffice
from tests.faults.pressed import Press, Pressed


def faults_of(unit: UnitOfWork, pressed: Pressed, office: PostOffice | None) -> list[str]:
    """Return everything that is not as it was told, in a line each."""
    with unit.read() as session:
        found = [
            *_integrity(session),
            *_bookings(session, list(pressed.of("book"))),
            *_receives(session, list(pressed.of("receive"))),
            *_tags(session, list(pressed.of("tag"))),
            *_scans(session, list(pressed.of("scan"))),
            *_payments(session, list(pressed.of("pay"))),
            *_documents(session),
            *_places(session),
            *(_letters(session, office) if office else ()),
        ]
    return [*found, *pressed.broken]


def _once(what: str, press: Press, times: int) -> Iterator[str]:
    """An acknowledged press is there once; one whose answer was lost, once or not at all."""
    if press.acknowledged and times != 1:
        yield f"{what} {press.key} {press.about} was acknowledged and is there {times} times"
    if not press.acknowledged and times > 1:
        yield f"{what} {press.key} {press.about} is there {times} times"
    if press.refused and press.tries == 1 and times:
        yield f"{what} {press.key} {press.about} was refused ({press.refused}) and is there"


def _integrity(session: Session) -> Iterator[str]:
    if session.get_bind().dialect.name != "sqlite":
        return
    told = session.execute(sa.text("PRAGMA integrity_check")).scalars().all()
    broken = session.execute(sa.text("PRAGMA foreign_key_check")).all()
    if told != ["ok"] or broken:
        yield f"the file is damaged: {told[:3]} {broken[:3]}"


def _bookings(session: Session, presses: Sequence[Press]) -> Iterator[str]:
    jobs = Counter(session.scalars(sa.select(Customer.email).join(Job)))
    of_draft = dict(
        session.execute(sa.select(Draft.token, Job.token).join(Job, Job.id == Draft.job_id)).all()
    )
    for one in presses:
        mail = one.about.split()[0]
        yield from _once("booking", one, jobs[mail])
        if one.acknowledged and one.key not in of_draft:
            yield f"the draft {one.key} was booked and has no job"
    parts = session.execute(
        sa.select(Job.code, sa.func.count(Part.id))
        .outerjoin(Part)
        .group_by(Job.id, Job.code)
        .having(sa.func.count(Part.id) != 4)
    ).all()
    yield from (f"job {code} has {count} parts of 4" for code, count in parts)


def _receives(session: Session, presses: Sequence[Press]) -> Iterator[str]:
    query = sa.select(Job.code).join(Move).where(Move.verb == EventVerb.RECEIVE)
    times = Counter(session.scalars(query))
    states = dict(session.execute(sa.select(Job.code, Job.state)).all())
    for one in presses:
        yield from _once("check-in", one, times[one.key])
        if one.acknowledged and states.get(one.key) is JobState.BOOKED:
            yield f"job {one.key} was received and is booked"


def _tags(session: Session, presses: Sequence[Press]) -> Iterator[str]:
    query = sa.select(Part.tag, Job.code, Part.number).join(Job).where(Part.tag.is_not(None))
    worn = {tag: f"{code}:{number}" for tag, code, number in session.execute(query)}
    for one in presses:
        if one.acknowledged and worn.get(one.key) != one.about:
            yield f"tag {one.key} was put on {one.about} and is on {worn.get(one.key)}"


def _scans(session: Session, presses: Sequence[Press]) -> Iterator[str]:
    query = sa.select(Move.scan_id, Move.to).where(Move.scan_id.is_not(None))
    rows = session.execute(query).all()
    times = Counter(one for one, _ in rows)
    to = dict(rows)
    for one in presses:
        yield from _once("scan", one, times[one.key])
        if one.key in to and to[one.key] != one.about.split()[1]:
            yield f"scan {one.key} {one.about} went to {to[one.key]}"
    strange = set(times) - {one.key for one in presses}
    yield from (f"scan {one} was never made" for one in strange)


def _payments(session: Session, presses: Sequence[Press]) -> Iterator[str]:
    query = (
        sa.select(Job.code, LedgerEntry.amount_minor)
        .join(Job, Job.id == LedgerEntry.job_id)
        .where(LedgerEntry.kind == EntryKind.PAYMENT)
    )
    rows = Counter((code, -minor) for code, minor in session.execute(query))
    for one in presses:
        yield from _once("payment", one, rows[one.key, one.minor])
    known = {(one.key, one.minor) for one in presses}
    yield from (f"a payment {row} was never made" for row in set(rows) - known)
    yield from _purses(session, presses)


def _purses(session: Session, presses: Sequence[Press]) -> Iterator[str]:
    """What each job owes is its price less what was paid, counted apart from the portal."""
    told: Counter[str] = Counter()
    unsure: Counter[str] = Counter()
    for one in presses:
        (told if one.acknowledged else unsure)[one.key] += one.minor
    jobs: Sequence[Any] = session.execute(sa.select(Job.id, Job.code, Job.total_minor)).all()
    accounts = accounts_of(session, [job.id for job in jobs])
    for job in jobs:
        found = accounts[job.id]
        if found.owed.minor != job.total_minor - found.paid.minor:
            yield f"job {job.code}: {job.total_minor} − {found.paid} is not {found.owed}"
        if not told[job.code] <= found.paid.minor <= told[job.code] + unsure[job.code]:
            yield f"job {job.code}: {told[job.code]} was acknowledged, {found.paid} is there"


def _documents(session: Session) -> Iterator[str]:
    """Each payment has its document, and no number is missing."""
    last = dict(session.execute(sa.select(NumberSeries.series, NumberSeries.last)).all())
    counts: dict[str, list[int]] = {}
    for series, count in session.execute(sa.select(Invoice.series, Invoice.count)):
        counts.setdefault(series, []).append(count)
    for series, top in last.items():
        if sorted(counts.get(series, [])) != list(range(1, top + 1)):
            yield f"the numbers of {series} have a gap below {top}"
    paid = sa.select(LedgerEntry.id).where(LedgerEntry.kind == EntryKind.PAYMENT)
    issued = sa.select(Invoice.entry_id).where(Invoice.entry_id.is_not(None))
    if set(session.scalars(paid)) != set(session.scalars(issued)):
        yield "a payment has no document, or a document no payment"


def _places(session: Session) -> Iterator[str]:
    """Each booked job has one place, and nobody else has it (a key of the table guards it)."""
    placed = set(session.scalars(sa.select(Booking.job_id)))
    mailed = sa.select(Job.id).join(Customer).where(Customer.email.startswith("customer-"))
    for job_id in set(session.scalars(mailed)) - placed:
        yield f"job {job_id} has no drop-off place"


def _letters(session: Session, office: PostOffice) -> Iterator[str]:
    """Every letter of the database was taken at least once, and no other; each by one name."""
    rows = session.execute(sa.select(Letter.message_id, Letter.state, Letter.to, Letter.kind)).all()
    known = {row.message_id: row for row in rows}
    for row in rows:
        if row.to and row.state is not LetterState.SENT:
            yield f"a letter ({row.kind}) is {row.state}"
        if row.to and not office.taken[row.message_id]:
            yield f"a letter ({row.kind}, {row.state}) never came"
        if row.to and office.to.get(row.message_id, row.to) != row.to:
            yield f"a letter ({row.kind}) went to somebody else"
    yield from (f"a letter came that nobody wrote: {one}" for one in set(office.taken) - set(known))
    booked = sa.select(Job.id).join(Customer).where(Customer.email.startswith("customer-"))
    told = set(session.scalars(sa.select(Letter.job_id)))
    yield from (f"job {one} has no letter" for one in set(session.scalars(booked)) - told)
