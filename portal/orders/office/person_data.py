"""All that is kept of one person, as tables of rows and as pictures, to be handed to them."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.orders.kernel.audit_log import record
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.orders.office.export import columns_of, table_names
from portal.orders.office.person_rows import PersonRows, person_of
from portal.shop.verbs import AuditVerb
from portal.store.tables import Base, InvoiceJob, Job, Letter, Part, Photo, Thread

# a link is a key: the copy may lie anywhere
LINK = re.compile(r"(/[Jr]/)[A-Za-z2-7]+")
HIDDEN = r"\1…"


@dataclass(frozen=True, slots=True)
class PersonData:
    """Rows by the name of their table, each a mapping of columns; pictures by their file name."""

    tables: dict[str, list[dict[str, Any]]]
    photos: dict[str, bytes]


@transactional
def person_data(unit: UnitOfWork, session: Session, wanted: str) -> PersonData:
    """Return what is kept of the person with an e-mail address, or with a job of this code.

    Left out are links and pickup codes, which open pages or hand over parts. Raise Unknown.
    """
    person = person_of(session, wanted)
    tables = {name: _rows(session, name, person) for name in table_names()}
    tables["letter"] = _letters(session, person)
    codes = session.scalars(sa.select(Job.code).where(Job.id.in_(person.job_ids))).all()
    record(session, unit.now(), None, AuditVerb.EXPORT_PERSON, " ".join(codes))
    return PersonData(
        {name: rows for name, rows in tables.items() if rows}, _photos(session, person)
    )


def _rows(session: Session, name: str, person: PersonRows) -> list[dict[str, Any]]:
    table = Base.metadata.tables[name]
    belongs = _belongs(table, person)
    if not belongs:
        return []
    columns = columns_of(name)
    query = sa.select(*columns).where(sa.or_(*belongs)).order_by(*table.primary_key.columns)
    return [_named(columns, row) for row in session.execute(query)]


def _named(columns: Sequence[sa.Column[Any]], row: Sequence[Any]) -> dict[str, Any]:
    return {column.name: value for column, value in zip(columns, row, strict=True)}


def _belongs(table: sa.Table, person: PersonRows) -> list[sa.ColumnElement[bool]]:
    """Say which rows of a table are the person's, by whatever it refers to."""
    own = {"customer": person.customer_ids, "job": person.job_ids, "draft": person.draft_ids}
    own["question"] = person.question_ids
    found: list[sa.ColumnElement[bool]] = []
    if table.name in own:
        found.append(table.columns["id"].in_(own[table.name]))
    for column, ids in (
        ("job_id", person.job_ids),
        ("customer_id", person.customer_ids),
        ("draft_id", person.draft_ids),
        ("part_id", sa.select(Part.id).where(Part.job_id.in_(person.job_ids))),
        ("invoice_id", _invoices(person)),
        ("thread_id", sa.select(Thread.id).where(Thread.job_id.in_(person.job_ids))),
    ):
        if column in table.columns:
            found.append(table.columns[column].in_(ids))
    if table.name == "invoice":
        found.append(table.columns["id"].in_(_invoices(person)))
    return found


def _invoices(person: PersonRows) -> sa.Select[int]:
    return sa.select(InvoiceJob.invoice_id).where(InvoiceJob.job_id.in_(person.job_ids))


def _letters(session: Session, person: PersonRows) -> list[dict[str, Any]]:
    own = sa.or_(Letter.job_id.in_(person.job_ids), sa.func.lower(Letter.to).in_(person.emails))
    rows = session.execute(
        sa.select(Letter, Job.pickup_code)
        .outerjoin(Job, Job.id == Letter.job_id)
        .where(own)
        .order_by(Letter.id)
    )
    return [
        {
            "kind": letter.kind,
            "to": letter.to,
            "subject": letter.subject,
            "text": _without_keys(letter.text, code or ""),
            "state": letter.state,
            "made_at": letter.made_at,
            "sent_at": letter.sent_at,
        }
        for letter, code in rows
    ]


def _without_keys(text: str, pickup_code: str) -> str:
    text = LINK.sub(HIDDEN, text)
    return re.sub(r"\s?".join(pickup_code), "…", text) if pickup_code else text


def _photos(session: Session, person: PersonRows) -> dict[str, bytes]:
    own = sa.or_(Photo.job_id.in_(person.job_ids), Photo.draft_id.in_(person.draft_ids))
    rows = session.execute(sa.select(Photo.id, Photo.jpeg).where(own).order_by(Photo.id))
    return {f"photo-{number}.jpg": jpeg for number, jpeg in rows}
