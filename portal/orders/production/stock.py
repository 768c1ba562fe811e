"""Powder is deducted from the stock when a part has been coated, and added when that is undone."""

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.orders.kernel.work_card import coat_of
from portal.shop.states import StockReason
from portal.store.floor import PowderRow, StockMove
from portal.store.jobs import Part


def powder_used(session: Session, part: Part, *, at: datetime, who: int | None) -> None:
    """Deduct the computed mass of the coat that `part` has just got."""
    _change_stock(session, part, -1, at=at, who=who)


def powder_back(session: Session, part: Part, *, at: datetime, who: int | None) -> None:
    """Put back what `powder_used` deducted for the same coat."""
    _change_stock(session, part, +1, at=at, who=who)


def _change_stock(
    session: Session, part: Part, sign: int, *, at: datetime, who: int | None
) -> None:
    coat = coat_of(part.work, part.coats_done)
    if coat is None or not coat.grams:
        return
    grams = sign * coat.grams
    known = session.execute(
        sa.update(PowderRow)
        .where(PowderRow.code == coat.powder_code)
        .values(stock_g=PowderRow.stock_g + grams)
    )
    # a powder that was renamed since the order has no stock to be taken from
    if not getattr(known, "rowcount", 0):
        return
    session.add(
        StockMove(
            powder_code=coat.powder_code,
            grams=grams,
            why=StockReason.LOAD,
            at=at,
            part_id=part.id,
            person_id=who,
        )
    )
    session.flush()
