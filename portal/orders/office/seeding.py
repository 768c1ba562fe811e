"""Imports a shop's two files: documents, powders, and durable tags."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.parts import Powder
from portal.orders.kernel.audit_log import record
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.orders.office.documents import changes
from portal.orders.office.powders import describe
from portal.shop.powder_list import read_powders
from portal.shop.shop import bodies, shop_of
from portal.shop.states import StockReason
from portal.shop.verbs import AuditVerb
from portal.store.tables import PowderRow, SettingsEdition, StockMove, Tag

# a works of this size owns a few hundred numbered tags; more are added in the office
FIRST_TAGS, FIRST_TAG_NUMBER = 240, 101


@dataclass(frozen=True, slots=True)
class ImportChange:
    """A value of a document in force that a shop file would change, by its path."""

    document: str
    path: str
    before: str
    after: str


@read_only
def changes_of_import(
    unit: UnitOfWork, session: Session, shop_text: str
) -> tuple[ImportChange, ...]:
    """Return what `import_shop` would change of the documents in force; raise CraftError."""
    found = []
    for kind, body in bodies(shop_text).items():
        in_force = _in_force(session, kind, unit.now())
        if in_force is not None:
            found += [
                ImportChange(kind, one.path, one.before, one.after)
                for one in changes(in_force.body, body)
            ]
    return tuple(found)


@transactional
def import_shop(
    unit: UnitOfWork,
    session: Session,
    shop_text: str,
    powders_text: str,
    at: datetime,
    *,
    who: int | None = None,
) -> None:
    """Put a shop's documents in force from `at`, and add its powders and tags.

    May be run again: only documents that differ from those in force are added, and the stock of
    a powder that is known stays as it was counted. Raises CraftError, with its key, before
    anything is written.
    """
    documents, powders = bodies(shop_text), read_powders(powders_text)
    shop_of(documents, powders)

    new = _put_documents(session, documents, at, unit.now(), who)
    added = [one.code for one in powders.values() if _put_powder(session, one, at, who)]
    _put_tags(session)
    if new or added:
        record(session, unit.now(), who, AuditVerb.IMPORT_SHOP, ", ".join([*new, *added]))


def _put_documents(
    session: Session,
    documents: dict[str, dict[str, Any]],
    at: datetime,
    now: datetime,
    who: int | None,
) -> list[str]:
    new = []
    for kind, body in documents.items():
        in_force = _in_force(session, kind, at)
        if in_force is None or in_force.body != body:
            session.add(
                SettingsEdition(kind=kind, body=body, effective_from=at, made_at=now, person_id=who)
            )
            new.append(kind)
    return new


def _in_force(session: Session, kind: str, at: datetime) -> SettingsEdition | None:
    return session.scalars(
        sa.select(SettingsEdition)
        .where(SettingsEdition.kind == kind, SettingsEdition.effective_from <= at)
        .order_by(SettingsEdition.effective_from.desc(), SettingsEdition.id.desc())
        .limit(1)
    ).first()


def _put_powder(session: Session, powder: Powder, at: datetime, who: int | None) -> bool:
    row = session.get(PowderRow, powder.code)
    if row is not None:
        before = row.version
        describe(row, powder)
        if session.is_modified(row):
            row.version = before + 1
        return False
    grams = round(powder.stock_kg * 1000)
    row = PowderRow(code=powder.code, stock_g=grams, offered=True, version=1)
    describe(row, powder)
    session.add(row)
    session.flush()
    session.add(
        StockMove(
            powder_code=powder.code, grams=grams, why=StockReason.STOCKTAKE, at=at, person_id=who
        )
    )
    return True


def _put_tags(session: Session) -> None:
    if session.scalar(sa.select(sa.func.count()).select_from(Tag)):
        return
    first = FIRST_TAG_NUMBER
    session.add_all(Tag(number=str(n)) for n in range(first, first + FIRST_TAGS))
