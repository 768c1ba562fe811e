"""The shop as its documents say at a moment, cached by the rows it was made from.

Powder is used all day, so what the documents say is kept apart: a stock that has changed reads none
of them again.
"""

from dataclasses import replace
from datetime import datetime
from typing import TypeVar

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.parts import Powder
from portal.shop.shop import Shop, shop_of
from portal.store.tables import PowderRow, SettingsEdition, StockMove

MOST = 4

Key = TypeVar("Key")
Editions = tuple[int, ...]
State = tuple[Editions, int, int]


# one statement: the rows of the editions that have come into force, the powders' versions, and the
# newest change of a stock; built once, because every page asks it
_POWDERS = sa.select(
    sa.func.coalesce(sa.func.sum(PowderRow.version), 0).label("versions"),
    sa.func.coalesce(sa.select(sa.func.max(StockMove.id)).scalar_subquery(), 0).label("moved"),
).subquery()
_STATE_QUERY = (
    sa.select(SettingsEdition.kind, SettingsEdition.id, _POWDERS.c.versions, _POWDERS.c.moved)
    .join(_POWDERS, sa.true())
    .where(
        SettingsEdition.effective_from
        <= sa.bindparam("at", type_=SettingsEdition.effective_from.type)
    )
    .order_by(SettingsEdition.effective_from, SettingsEdition.id)
)


class ShopCache:
    """A few recent shops, each under the rows that it was made from."""

    def __init__(self) -> None:
        self._shops: dict[State, Shop] = {}
        self._without_stock: dict[Editions, Shop] = {}

    def shop(self, session: Session, at: datetime) -> Shop:
        """Return the shop in force `at` a moment; one small statement when it is cached."""
        state = _state(session, at)
        known = self._shops.get(state)
        if known is not None:
            return known
        plain = self._without_stock.get(state[0])
        if plain is None:
            plain = _keep(self._without_stock, state[0], _read(session, state[0]))
        made = replace(plain, practice=replace(plain.practice, stock=stock(session)))
        return _keep(self._shops, state, made)


def _keep(shops: dict[Key, Shop], key: Key, made: Shop) -> Shop:
    """Return the one shop of a key: two threads may make it at once, and equal ones are dear.

    What hangs on the shop compares it at every request, field by field where it is another object.
    """
    # a dict keeps its order: the oldest goes first
    while len(shops) >= MOST:
        shops.pop(next(iter(shops)), None)
    return shops.setdefault(key, made)


def powder_of(row: PowderRow) -> Powder:
    """Return the trade's powder for a row; stock in kg."""
    return Powder(
        code=row.code,
        name=row.name,
        lab=(row.lab_l, row.lab_a, row.lab_b),
        gloss_gu=row.gloss_gu,
        effect=row.effect,
        ral=row.ral,
        density=row.density,
        film_um=(row.film_low_um, row.film_high_um),
        cure=(row.cure_c, row.cure_min),
        stock_kg=row.stock_g / 1000,
        box_kg=row.box_g / 1000,
        lead_days=row.lead_days,
    )


def stock(session: Session) -> dict[str, Powder]:
    """Return the powders that are offered, by code."""
    rows = session.scalars(sa.select(PowderRow).where(PowderRow.offered).order_by(PowderRow.code))
    return {row.code: powder_of(row) for row in rows}


def _state(session: Session, at: datetime) -> State:
    session.flush()
    # every page asks it: without what the ORM does for rows that are objects, a third of its cost
    rows = session.connection().execute(_STATE_QUERY, {"at": at}).all()
    # the last one of a kind wins
    latest = {kind: book_id for kind, book_id, _, _ in rows}
    versions, moved = (rows[0][2], rows[0][3]) if rows else (0, 0)
    return (tuple(sorted(latest.values())), int(versions), int(moved))


def _read(session: Session, book_ids: Editions) -> Shop:
    """Read the shop from its documents, as if it had no powder."""
    rows = session.scalars(sa.select(SettingsEdition).where(SettingsEdition.id.in_(book_ids)))
    documents = {str(row.kind): row.body for row in rows}
    # what stands in an edition was looked up when it was written
    return shop_of(documents, {}, calendar_checked=True)
