"""Powder is deducted from the stock when a part has been coated, and added when that is undone."""

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.craft.quantities import kg
from portal.orders.kernel.work_card import CardCoat, coat_of
from portal.shop.states import StockReason
from portal.store.floor import PowderRow, StockMove
from portal.store.jobs import Part
from portal.store.types import verbatim


def powder_used(session: Session, part: Part, *, at: datetime, who: int | None) -> Message | None:
    """Deduct the computed mass of the coat that `part` has just got.

    What is coated is coated, so a stock below zero is no refusal; the sentence says to weigh it.
    """
    coat = coat_of(part.work, part.coats_done)
    _change_stock(session, part, -1, at=at, who=who)
    left = _stock_of(session, coat)
    if coat is None or left is None or left >= 0:
        return None
    return Message(
        "By calculation there are {left} of {powder}. Weigh the box, and tell the office.",
        left=kg(left / 1000),
        powder=verbatim(coat.powder_name),
    )


def powder_back(session: Session, part: Part, *, at: datetime, who: int | None) -> None:
    """Put back what `powder_used` deducted for the same coat."""
    _change_stock(session, part, +1, at=at, who=who)


def _stock_of(session: Session, coat: CardCoat | None) -> int | None:
    if coat is None:
        return None
    return session.scalar(sa.select(PowderRow.stock_g).where(PowderRow.code == coat.powder_code))


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
