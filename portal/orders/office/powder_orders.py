"""What powder to buy: stock, what is booked, what is on its way, and by when it must be ordered."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.craft.quantities import Quantity, Unit
from portal.orders.kernel.audit_log import record
from portal.orders.kernel.errors import Already, Refused, Unknown
from portal.orders.kernel.job_lock import NOT_WORKED_ON
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.orders.kernel.work_card import read_card
from portal.shop.calendar.week import Week
from portal.shop.moves import AHEAD
from portal.shop.route import EACH_COAT
from portal.shop.verbs import AuditVerb
from portal.store.tables import Job, Part, PowderOrder, PowderRow

MOST_GRAMS = 100_000_000
LONGEST_WAIT = timedelta(days=365)


@dataclass(frozen=True, slots=True)
class OnOrder:
    """Powder that was ordered and has not come."""

    id: int
    kg: float
    due_on: date
    ordered_at: datetime
    late: bool


@dataclass(frozen=True, slots=True)
class Supply:
    """One powder against what is booked, in kg.

    `short_kg` is what is missing when all that is booked is coated and all that is ordered has
    come; `boxes` cover it. `order_by` is the day by which they must be ordered to come before the
    first job that finds too little; None when nothing is missing.
    """

    code: str
    name: str
    stock_kg: float
    booked_kg: float
    on_order_kg: float
    short_kg: float
    boxes: int
    box_kg: float
    order_by: date | None


@dataclass(frozen=True, slots=True)
class _Taken:
    """Grams that a job takes, and when it is promised."""

    promise_at: datetime
    grams: int


@read_only
def to_buy(unit: UnitOfWork, session: Session) -> tuple[Supply, ...]:
    """Return the powders of which too little is there, the most pressing first."""
    every = supplies(unit, session)
    short = [one for one in every.values() if one.boxes]
    return tuple(sorted(short, key=lambda one: (one.order_by or date.max, one.name)))


def supplies(unit: UnitOfWork, session: Session) -> dict[str, Supply]:
    """Return every powder against what is booked, by its code."""
    taken, ordered = _booked(session), open_orders(unit, session)
    week = unit.shop(session).week
    found = {}
    for row in session.scalars(sa.select(PowderRow)):
        own = taken.get(row.code, [])
        coming = sum(one.kg for one in ordered.get(row.code, ()))
        booked = sum(one.grams for one in own)
        there = row.stock_g + round(coming * 1000)
        short = max(0, booked - there)
        first = _first_short(own, there)
        found[row.code] = Supply(
            row.code,
            row.name,
            row.stock_g / 1000,
            booked / 1000,
            coming,
            short / 1000,
            math.ceil(short / row.box_g),
            row.box_g / 1000,
            _days_before(week, week.local(first).date(), row.lead_days) if first else None,
        )
    return found


def open_orders(unit: UnitOfWork, session: Session) -> dict[str, tuple[OnOrder, ...]]:
    """Return what is on its way, by the powder's code, the first to come first."""
    today = unit.shop(session).week.local(unit.now()).date()
    query = sa.select(PowderOrder).where(PowderOrder.closed_at.is_(None))
    found: dict[str, tuple[OnOrder, ...]] = {}
    for row in session.scalars(query.order_by(PowderOrder.due_on, PowderOrder.id)):
        one = OnOrder(row.id, row.grams / 1000, row.due_on, row.ordered_at, row.due_on < today)
        found[row.powder_code] = (*found.get(row.powder_code, ()), one)
    return found


@transactional
def order_powder(
    unit: UnitOfWork, session: Session, code: str, grams: int, due_on: date, *, who: int | None
) -> None:
    """Note that powder was ordered, and when it is to come."""
    today = unit.shop(session).week.local(unit.now()).date()
    if not 0 < grams <= MOST_GRAMS:
        raise Refused(Message("Enter a weight in kg, such as 12.5."), key="ordered_kg")
    if not today <= due_on <= today + LONGEST_WAIT:
        raise Refused(Message("Enter a day from today on."), key="due_on")

    if session.get(PowderRow, code) is None:
        raise Unknown(Message("There is no powder “{code}”.", code=code))
    session.add(
        PowderOrder(
            powder_code=code, grams=grams, due_on=due_on, ordered_at=unit.now(), person_id=who
        )
    )
    record(session, unit.now(), who, AuditVerb.ORDER_POWDER, _ordered(code, grams, due_on))


@transactional
def drop_order(
    unit: UnitOfWork, session: Session, code: str, order_id: int, *, who: int | None
) -> None:
    """Note that an order will not come."""
    row = session.get(PowderOrder, order_id, with_for_update=True)
    if row is None or row.powder_code != code:
        raise Unknown(Message("There is no such order."))
    if row.closed_at is not None:
        raise Already(Message("This order is closed already."))
    row.closed_at = unit.now()
    record(session, unit.now(), who, AuditVerb.ORDER_OFF, _ordered(code, row.grams, row.due_on))


def count_delivery(unit: UnitOfWork, session: Session, code: str, grams: int) -> None:
    """Take a delivery off what is on order, the first to come first; more than that is no fault."""
    query = sa.select(PowderOrder).where(
        PowderOrder.powder_code == code, PowderOrder.closed_at.is_(None)
    )
    for row in session.scalars(query.order_by(PowderOrder.due_on, PowderOrder.id)):
        if grams <= 0:
            return
        came = min(grams, row.grams)
        grams -= came
        if came == row.grams:
            row.closed_at = unit.now()
        else:
            row.grams -= came


def _booked(session: Session) -> Mapping[str, list[_Taken]]:
    """Return what the coats take that are still to be sprayed, by powder, the first due first."""
    query = (
        sa.select(Job.promise_at, Part.stage, Part.coats_done, Part.work)
        .join(Job, Job.id == Part.job_id)
        .where(Job.state.in_(AHEAD), Part.arrived.not_in(NOT_WORKED_ON))
        .order_by(Job.promise_at, Job.id)
    )
    found: dict[str, list[_Taken]] = {}
    for row in session.execute(query):
        # what waits for its cure has its powder already
        sprayed = row.coats_done + (row.stage in EACH_COAT and not row.stage.uses_powder)
        for coat in read_card(row.work).coats[sprayed:]:
            found.setdefault(coat.powder_code, []).append(_Taken(row.promise_at, coat.grams))
    return found


def _days_before(week: Week, day: date, working_days: int) -> date:
    """Return the last day on which what comes within so many working days is ordered in time."""
    found = day - timedelta(days=working_days)
    while week.working_days_after(found, working_days) > day:
        found -= timedelta(days=1)
    return found


def _first_short(taken: list[_Taken], there: int) -> datetime | None:
    for one in taken:
        there -= one.grams
        if there < 0:
            return one.promise_at
    return None


def _ordered(code: str, grams: int, due_on: date) -> Message:
    mass = Quantity(Decimal(grams) / 1000, Unit.KG)
    return Message("{code}: {mass}, due {day}", code=code, mass=mass, day=due_on)
