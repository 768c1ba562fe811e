"""Lists that a firm puts together before it books them: added to, corrected, thrown away.

Good rows and bad ones are kept alike, as they were written.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.errors import Overtaken, Refused, Unknown
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.shop.lists.columns import TypedRow, rows_from_json, rows_to_json
from portal.shop.lists.heading import MOST_ROWS
from portal.store.tables import FirmList

# a firm that puts rows together for a year has others than these in mind
MOST_LISTS = 20
KEPT_FOR = timedelta(days=90)
NO_LIST = Message("We can't find this list.")
NO_ROWS = Message("There is no row in it. Paste rows from your table, or choose a file.")
TOO_MANY = Message("A list has up to {most} rows. Book this one first, or leave rows out.")
CHANGED = Message("This list was changed in another window. Check it as it is now.")
BOOKED = Message("This list is booked. Its sets are among your jobs now.")


def list_of(session: Session, firm_id: int, list_id: int, *, locked: bool = False) -> FirmList:
    """Return a list of a firm; raise Unknown for one of somebody else, as for none."""
    query = sa.select(FirmList).where(FirmList.id == list_id, FirmList.firm_id == firm_id)
    row = session.scalar(query.with_for_update() if locked else query)
    if row is None:
        raise Unknown(NO_LIST)
    return row


def open_for_changes(
    session: Session, firm_id: int, list_id: int, expected_version: int
) -> FirmList:
    """Return a list that is about to be changed; raise Refused or Overtaken."""
    row = list_of(session, firm_id, list_id, locked=True)
    if row.booked_at is not None:
        raise Refused(BOOKED)
    if row.version != expected_version:
        raise Overtaken(CHANGED)
    return row


@transactional
def new_list(unit: UnitOfWork, session: Session, firm_id: int, rows: Sequence[TypedRow]) -> int:
    """Keep the rows of a new list and return its number; raise Refused where there are none."""
    numbered = _numbered(rows)
    now = unit.now()
    _forget_old(session, firm_id, now)
    row = FirmList(
        firm_id=firm_id, rows=rows_to_json(numbered), version=1, created_at=now, updated_at=now
    )
    session.add(row)
    session.flush()
    return row.id


@transactional
def add_rows(
    unit: UnitOfWork, session: Session, firm_id: int, list_id: int, rows: Sequence[TypedRow]
) -> None:
    """Put more rows behind those of a list."""
    row = list_of(session, firm_id, list_id, locked=True)
    if row.booked_at is not None:
        raise Refused(BOOKED)
    if not rows:
        raise Refused(NO_ROWS, key="text")
    row.rows = rows_to_json(_numbered((*rows_from_json(row.rows), *rows)))
    _touch(unit, row)


@transactional
def save_rows(  # the list as it stands on the page
    unit: UnitOfWork,
    session: Session,
    firm_id: int,
    list_id: int,
    rows: Sequence[TypedRow],
    slot: datetime | None,
    *,
    expected_version: int,
) -> None:
    """Keep a list as it was corrected, with the drop-off time that was chosen for all of it."""
    row = open_for_changes(session, firm_id, list_id, expected_version)
    row.rows, row.slot = rows_to_json(_numbered(rows)), slot
    _touch(unit, row)


@transactional
def drop_list(_unit: UnitOfWork, session: Session, firm_id: int, list_id: int) -> None:
    """Throw a list away that is not booked."""
    row = list_of(session, firm_id, list_id, locked=True)
    if row.booked_at is not None:
        raise Refused(BOOKED)
    session.delete(row)


def _touch(unit: UnitOfWork, row: FirmList) -> None:
    row.version += 1
    row.updated_at = unit.now()


def _numbered(rows: Sequence[TypedRow]) -> tuple[TypedRow, ...]:
    filled = [row for row in rows if row.cells]
    if not filled:
        raise Refused(NO_ROWS, key="text")
    if len(filled) > MOST_ROWS:
        raise Refused(Message(TOO_MANY.msgid, most=MOST_ROWS), key="text")
    return tuple(replace(row, number=number) for number, row in enumerate(filled, 1))


def _forget_old(session: Session, firm_id: int, now: datetime) -> None:
    """Delete lists that nobody touched for long, and the oldest where there are too many."""
    own = sa.select(FirmList).where(FirmList.firm_id == firm_id, FirmList.booked_at.is_(None))
    rows = session.scalars(own.order_by(FirmList.updated_at.desc())).all()
    for at, row in enumerate(rows, 1):
        if at >= MOST_LISTS or row.updated_at < now - KEPT_FOR:
            session.delete(row)
