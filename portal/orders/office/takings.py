"""The takings since the till was last closed, and its closing: counted cash against expected.

A closing takes in every payment that no closing has yet, so each is in one and none is left out,
also where a payment comes in while somebody counts.
"""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.audit_log import record
from portal.orders.kernel.errors import Overtaken, Refused, Unknown
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.codes import shown
from portal.shop.invoicing.takings import Taking, TakingsSum, TillCount, cash_in, sums_of
from portal.shop.ledger import MONEY, EntryKind
from portal.shop.money import Money
from portal.shop.states import PaymentMethod
from portal.shop.verbs import AuditVerb
from portal.store.tables import Customer, Job, LedgerEntry, Person, TillClosing, TillEntry

LONGEST_REASON = 300
A_PAGE = 60


@dataclass(frozen=True, slots=True)
class PaymentRow:
    """One payment in a list; what was given back is below zero."""

    at: datetime
    code: str
    name: str
    kind: EntryKind
    way: PaymentMethod
    amount: Money
    reason: str


@dataclass(frozen=True, slots=True)
class Till:
    """What came in since the last closing. `opening` is None before the first one."""

    currency: str
    opening: int | None
    takings: tuple[Taking, ...]
    rows: tuple[PaymentRow, ...]
    since: datetime

    @property
    def sums(self) -> tuple[TakingsSum, ...]:
        """The sums by way of payment and rate."""
        return sums_of(self.takings)

    @property
    def taken(self) -> int:
        """The cash that came in, in minor units."""
        return cash_in(self.takings)

    @property
    def days(self) -> tuple[date, ...]:
        """The days of the payments."""
        return tuple(sorted({one.day for one in self.takings}))

    def money(self, minor: int) -> Money:
        """Return a sum in the till's currency."""
        return Money(minor, self.currency)


@dataclass(frozen=True, slots=True)
class Closing:
    """A closed till; `rows` are its payments."""

    number: int
    day: date
    since: datetime
    closed_at: datetime
    by: str
    count: TillCount
    reason: str
    currency: str
    sums: tuple[TakingsSum, ...]
    rows: tuple[PaymentRow, ...] = ()

    def money(self, minor: int) -> Money:
        """Return a sum in the till's currency."""
        return Money(minor, self.currency)


@dataclass(frozen=True, slots=True)
class CountedTill:
    """What the person who closes has counted, in minor units; `opening` only counts at first."""

    opening: int
    counted: int
    banked: int
    reason: str


@read_only
def till(unit: UnitOfWork, session: Session) -> Till:
    """Return the takings since the last closing."""
    return _till(unit, session)


@transactional
@idempotent("close_till", answer="number")
def close_till(
    unit: UnitOfWork,
    session: Session,
    given: CountedTill,
    *,
    expected_taken: int,
    once_token: str,  # taken by the decorator
    who: int,
) -> int:
    """Close the till; return the closing's number.

    `expected_taken` is the cash that the page showed: Overtaken when more has come in since.
    """
    now, here = unit.now(), _till(unit, session)
    if here.taken != expected_taken:
        raise Overtaken(
            Message("Cash was taken while you counted. Look at the new sum, then close again.")
        )
    opening = given.opening if here.opening is None else here.opening
    count = TillCount(opening, here.taken, given.counted, given.banked)
    reason = " ".join(given.reason.split())[:LONGEST_REASON]
    _check(here, count, reason)
    number = (session.scalar(sa.select(sa.func.max(TillClosing.number))) or 0) + 1
    row = TillClosing(
        number=number,
        day=unit.shop(session).day(now),
        since=here.since,
        closed_at=now,
        person_id=who,
        currency=here.currency,
        opening_minor=count.opening,
        taken_minor=count.taken,
        counted_minor=count.counted,
        banked_minor=count.banked,
        reason=reason,
        takings=[_plain(one) for one in here.sums],
    )
    session.add(row)
    session.flush()
    session.add_all(TillEntry(entry_id=one.entry_id, closing_id=row.id) for one in here.takings)
    session.flush()
    record(session, now, who, AuditVerb.CLOSE_TILL, str(number))
    return number


def _check(here: Till, count: TillCount, reason: str) -> None:
    if count.banked > count.counted:
        raise Refused(Message("You can't take out more than was counted."), key="banked")
    if count.difference and not reason:
        found = Message(
            "There must be {expected} in the till. Count again, or enter why it differs.",
            expected=here.money(count.expected),
        )
        raise Refused(found, key="reason")


@read_only
def closings(_unit: UnitOfWork, session: Session) -> tuple[Closing, ...]:
    """Return the last closings, the newest first."""
    query = (
        sa.select(TillClosing, Person.name)
        .join(Person, Person.id == TillClosing.person_id)
        .order_by(TillClosing.number.desc())
        .limit(A_PAGE)
    )
    return tuple(_closing(row, by, ()) for row, by in session.execute(query))


@read_only
def closing(unit: UnitOfWork, session: Session, number: int) -> Closing:
    """Return one closing with its payments."""
    found = session.execute(
        sa.select(TillClosing, Person.name)
        .join(Person, Person.id == TillClosing.person_id)
        .where(TillClosing.number == number)
    ).first()
    if found is None:
        raise Unknown(Message("We can't find this closing."))
    row, by = found
    query = _payments().join(TillEntry, TillEntry.entry_id == LedgerEntry.id)
    rows = session.execute(query.where(TillEntry.closing_id == row.id)).all()
    return _closing(row, by, tuple(_row(one) for one in rows))


def _till(unit: UnitOfWork, session: Session) -> Till:
    shop, last = unit.shop(session), _last(session)
    # a payment that was recorded while the last closing ran is not in it; before the first one the
    # till begins with the day: what was paid earlier was counted in another way
    from_ = last.since if last else shop.week.moment(shop.day(unit.now()), time(0))
    query = (
        _payments()
        .outerjoin(TillEntry, TillEntry.entry_id == LedgerEntry.id)
        .where(TillEntry.entry_id.is_(None), LedgerEntry.at >= from_)
    )
    rows = session.execute(query).all()
    return Till(
        currency=shop.currency,
        opening=last.counted_minor - last.banked_minor if last else None,
        takings=tuple(
            Taking(one.id, shop.day(one.at), one.how, _percent(one.quote), -one.amount_minor)
            for one in rows
        ),
        rows=tuple(_row(one) for one in rows),
        since=last.closed_at if last else from_,
    )


def _last(session: Session) -> TillClosing | None:
    return session.scalars(
        sa.select(TillClosing).order_by(TillClosing.number.desc()).limit(1)
    ).first()


def _payments() -> sa.Select[Any]:
    columns = (
        *(LedgerEntry.id, LedgerEntry.at, LedgerEntry.kind, LedgerEntry.how),
        *(LedgerEntry.amount_minor, LedgerEntry.reason),
        *(Job.code, Job.currency, Job.quote, Customer.name),
    )
    return (
        sa.select(*columns)
        .join(Job, Job.id == LedgerEntry.job_id)
        .join(Customer, Customer.id == Job.customer_id)
        .where(LedgerEntry.kind.in_(tuple(MONEY)))
        .order_by(LedgerEntry.at, LedgerEntry.id)
    )


def _row(row: Any) -> PaymentRow:
    amount = Money(-row.amount_minor, row.currency)
    return PaymentRow(row.at, shown(row.code), row.name, row.kind, row.how, amount, row.reason)


def _percent(quote: dict[str, Any] | None) -> Decimal:
    return Decimal(quote["tax_percent"]) if quote else Decimal(0)


def _plain(one: TakingsSum) -> dict[str, Any]:
    return {**asdict(one), "way": one.way.value, "percent": str(one.percent)}


def _closing(row: TillClosing, by: str, rows: Sequence[PaymentRow]) -> Closing:
    return Closing(
        number=row.number,
        day=row.day,
        since=row.since,
        closed_at=row.closed_at,
        by=by,
        count=TillCount(row.opening_minor, row.taken_minor, row.counted_minor, row.banked_minor),
        reason=row.reason,
        currency=row.currency,
        sums=tuple(
            TakingsSum(
                PaymentMethod(one["way"]), Decimal(one["percent"]), one["count"], one["amount"]
            )
            for one in row.takings
        ),
        rows=tuple(rows),
    )
