"""Powders and their stock: deliveries, stocktakes, and what the shop offers.

Stock only changes by movements: every change leaves a row with its reason.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import CraftError, Message
from portal.craft.parts import Powder
from portal.craft.quantities import Quantity, Unit
from portal.craft.schema import entries
from portal.craft.suits import Unsuited, unsuited
from portal.orders.kernel.audit_log import record
from portal.orders.kernel.errors import Overtaken, Refused, Unknown
from portal.orders.kernel.shop_cache import powder_of
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.orders.office.powder_orders import (
    OnOrder,
    Supply,
    count_delivery,
    open_orders,
    supplies,
)
from portal.orders.production.powder_batches import BatchUsed, batches_used
from portal.shop.powder_list import COLUMNS, PowderFigures, read_powder
from portal.shop.states import StockReason
from portal.shop.verbs import AuditVerb
from portal.store.tables import Person, PowderRow, StockMove

MOVES_SHOWN = 50
MOST_GRAMS = 100_000_000
USE_OVER = timedelta(days=30)


@dataclass(frozen=True, slots=True)
class PowderLine:
    """One powder in the list; masses in kg, `used_kg` over the last thirty days."""

    powder: Powder
    used_kg: float
    offered: bool
    booked_kg: float = 0.0
    on_order_kg: float = 0.0

    @property
    def low(self) -> bool:
        """Whether less than half a box, or than was used in thirty days, will be left.

        What is booked counts as gone, what is on order as here.
        """
        enough = max(self.powder.box_kg / 2, self.used_kg)
        return self.offered and self.powder.stock_kg + self.on_order_kg - self.booked_kg < enough

    @property
    def below_zero(self) -> bool:
        """Whether more was taken by calculation than was there: the box must be weighed."""
        return self.powder.stock_kg < 0


@dataclass(frozen=True, slots=True)
class StockLine:
    """One movement of stock, in grams."""

    at: datetime
    grams: int
    why: StockReason
    by: str


@dataclass(frozen=True, slots=True)
class PowderSheet:
    """A powder with its figures as texts (as in the CSV file), its stock and its movements.

    `unsuited` are the parts that it is too hot for at this works.
    """

    line: PowderLine
    figures: dict[str, str]
    version: int
    moves: tuple[StockLine, ...]
    unsuited: tuple[Unsuited, ...] = ()
    supply: Supply | None = None
    on_order: tuple[OnOrder, ...] = ()
    batches: tuple[BatchUsed, ...] = ()


@read_only
def powders(unit: UnitOfWork, session: Session) -> tuple[PowderLine, ...]:
    """Return every powder, offered ones first."""
    since = unit.now() - USE_OVER
    used = (
        sa.select(StockMove.powder_code, sa.func.sum(StockMove.grams).label("grams"))
        .where(StockMove.why == StockReason.LOAD, StockMove.at >= since)
        .group_by(StockMove.powder_code)
        .subquery()
    )
    rows = session.execute(
        sa.select(PowderRow, used.c.grams)
        .outerjoin(used, used.c.powder_code == PowderRow.code)
        .order_by(PowderRow.offered.desc(), PowderRow.name, PowderRow.code)
    )
    supply = supplies(unit, session)
    return tuple(_line(row, grams, supply.get(row.code)) for row, grams in rows)


@read_only
def powder(unit: UnitOfWork, session: Session, code: str) -> PowderSheet:
    """Return one powder with its latest movements."""
    row = session.get(PowderRow, code)
    if row is None:
        raise Unknown(Message("There is no powder “{code}”.", code=code))
    moves = session.execute(
        sa.select(StockMove.at, StockMove.grams, StockMove.why, Person.name)
        .outerjoin(Person, Person.id == StockMove.person_id)
        .where(StockMove.powder_code == code)
        .order_by(StockMove.id.desc())
        .limit(MOVES_SHOWN)
    )
    supply = supplies(unit, session).get(code)
    line = _line(row, None, supply)
    return PowderSheet(
        line=line,
        figures=figures(row),
        version=row.version,
        moves=tuple(StockLine(at, grams, why, by or "") for at, grams, why, by in moves),
        unsuited=unsuited(line.powder, unit.shop(session).practice) if line.offered else (),
        supply=supply,
        on_order=open_orders(unit, session).get(code, ()),
        batches=batches_used(session, code),
    )


@transactional
def save_powder(
    unit: UnitOfWork,
    session: Session,
    typed: dict[str, str],
    *,
    expected_version: int | None,
    offered: bool,
    who: int | None,
) -> str:
    """Add a powder (`expected_version` None) or change one; return its code.

    `typed` has the columns of the CSV file but the stock. Raises `Refused` with the column as
    `key`, `Overtaken` when a colleague changed it since.
    """
    made = _read(typed)

    row = session.get(PowderRow, made.code)
    if expected_version is None and row is not None:
        raise Refused(Message("There is already a powder with this code."), key="code")
    if expected_version is not None and (row is None or row.version != expected_version):
        raise Overtaken(
            Message(
                "Someone has changed this powder. Your entries are still here. Check them "
                "and save again."
            )
        )
    before = figures(row) if row is not None else {}
    if row is None:
        row = PowderRow(code=made.code, stock_g=0, version=0)
        session.add(row)
    describe(row, made)
    row.offered, row.version = offered, row.version + 1
    session.flush()
    after = figures(row)
    changes = tuple(
        Message(
            "{what}: {before} → {after}", what=_title(key), before=before.get(key, "–"), after=value
        )
        for key, value in after.items()
        if before.get(key) != value
    )
    says = Message("{code}: {changes}", code=made.code, changes=changes)
    record(session, unit.now(), who, AuditVerb.PUT_POWDER, says)
    return made.code


@transactional
def delivery(unit: UnitOfWork, session: Session, code: str, grams: int, *, who: int | None) -> None:
    _must_be_grams(grams, low=1)
    count_delivery(unit, session, code, grams)
    _move(session, code, grams, StockReason.DELIVERY, unit.now(), who)


@transactional
def stocktake(unit: UnitOfWork, session: Session, code: str, grams: int, *, who: int | None) -> int:
    """Set the stock to what was weighed; return the difference in grams."""
    _must_be_grams(grams, low=0)

    row = _row(session, code)
    difference = grams - row.stock_g
    _move(session, code, difference, StockReason.STOCKTAKE, unit.now(), who)
    return difference


def describe(row: PowderRow, made: Powder) -> None:
    """Write a powder's figures into its row; the stock is left alone."""
    row.name, row.effect, row.ral = made.name, made.effect, made.ral
    row.lab_l, row.lab_a, row.lab_b = made.lab
    row.gloss_gu, row.density = made.gloss_gu, made.density
    row.film_low_um, row.film_high_um = made.film_um
    row.cure_c, row.cure_min = made.cure
    row.box_g, row.lead_days = round(made.box_kg * 1000), made.lead_days


def figures(row: PowderRow) -> dict[str, str]:
    """Return a row's figures as texts, under the columns of the CSV file."""
    values: tuple[Any, ...] = (
        *(row.code, row.name, row.ral, row.lab_l, row.lab_a, row.lab_b, row.gloss_gu),
        *(row.effect, row.density, row.film_low_um, row.film_high_um, row.cure_c, row.cure_min),
        *(row.stock_g / 1000, row.box_g / 1000, row.lead_days),
    )
    texts = (f"{v:g}" if isinstance(v, float) else str(v) for v in values)
    return {k: v for k, v in zip(COLUMNS, texts, strict=True) if k != "stock_kg"}


def _title(column: str) -> Any:
    label = entries(PowderFigures)[column].label
    return label.title if label else column


def _read(typed: dict[str, str]) -> Powder:
    """Read the figures by the rules of the CSV file, so that both ways accept the same."""
    try:
        return read_powder({**typed, "stock_kg": "0"})
    except CraftError as wrong:
        raise Refused(wrong.sentence, key=wrong.key) from None


def _line(row: PowderRow, used: int | None, supply: Supply | None) -> PowderLine:
    return PowderLine(
        powder=powder_of(row),
        used_kg=-(used or 0) / 1000,
        offered=row.offered,
        booked_kg=supply.booked_kg if supply else 0.0,
        on_order_kg=supply.on_order_kg if supply else 0.0,
    )


def _move(
    session: Session, code: str, grams: int, why: StockReason, at: datetime, who: int | None
) -> None:
    row = _row(session, code)
    row.stock_g += grams
    row.version += 1
    session.add(StockMove(powder_code=code, grams=grams, why=why, at=at, person_id=who))
    session.flush()
    mass = Quantity(Decimal(grams) / 1000, Unit.KG)
    record(session, at, who, AuditVerb(why), Message("{code}: {mass}", code=code, mass=mass))


def _row(session: Session, code: str) -> PowderRow:
    row = session.get(PowderRow, code, with_for_update=True)
    if row is None:
        raise Unknown(Message("There is no powder “{code}”.", code=code))
    return row


def _must_be_grams(grams: int, *, low: int) -> None:
    if not low <= grams <= MOST_GRAMS:
        raise Refused(Message("Enter a weight in kg, such as 12.5."), key="kg")
