"""The shop's documents (prices, week, stations, …): read, compared, changed from a day on.

A document is never edited in place: a change is a new row that is valid from its day on, so an old
order keeps the prices of its own day.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import CraftError, Message
from portal.orders.kernel.audit_log import record
from portal.orders.kernel.errors import Already, Overtaken, Refused, Unknown
from portal.orders.kernel.shop_cache import stock
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.shop import KINDS, OPTIONAL, shop_of
from portal.shop.states import DocumentKind
from portal.shop.verbs import AuditVerb
from portal.store.tables import Person, SettingsEdition

FURTHEST = timedelta(days=730)
TOLD_CHANGES = 6
TOLD_LETTERS = 80
NOTHING = "–"


@dataclass(frozen=True, slots=True)
class DocumentEdition:
    """One row of a document's history."""

    book_id: int
    effective_from: datetime
    made_at: datetime
    by: str
    in_force: bool
    to_come: bool


@dataclass(frozen=True, slots=True)
class Document:
    """A document: the newest edition (which may still be to come) and its history."""

    kind: str
    book_id: int
    body: Mapping[str, Any]
    effective_from: datetime
    history: tuple[DocumentEdition, ...]

    @property
    def to_come(self) -> tuple[DocumentEdition, ...]:
        """Editions that are valid from a later day on."""
        return tuple(one for one in self.history if one.to_come)


@dataclass(frozen=True, slots=True)
class Change:
    """One value that differs between two editions; `NOTHING` where there is none."""

    path: str
    before: str
    after: str


@read_only
def document(unit: UnitOfWork, session: Session, kind: str, book_id: int | None = None) -> Document:
    """Return a document: the edition in force, or a named one."""
    _must_be_known(kind)
    now = unit.now()
    rows = session.execute(
        sa.select(SettingsEdition, Person.name)
        .outerjoin(Person, Person.id == SettingsEdition.person_id)
        .where(SettingsEdition.kind == kind)
        .order_by(SettingsEdition.effective_from.desc(), SettingsEdition.id.desc())
    ).all()
    if not rows and kind == DocumentKind.INVOICING:
        return Document(kind, 0, {}, now, ())
    if not rows:
        raise Unknown(Message("This sheet has no entries yet."))
    in_force = next((row for row, _ in rows if row.effective_from <= now), rows[-1][0])
    wanted = in_force
    if book_id is not None:
        wanted = next((row for row, _ in rows if row.id == book_id), in_force)
    return Document(
        kind=kind,
        book_id=wanted.id,
        body=wanted.body,
        effective_from=wanted.effective_from,
        history=tuple(
            DocumentEdition(
                book_id=row.id,
                effective_from=row.effective_from,
                made_at=row.made_at,
                by=name or "",
                in_force=row.id == in_force.id,
                to_come=row.effective_from > now,
            )
            for row, name in rows
        ),
    )


@transactional
def put_document(  # all named
    unit: UnitOfWork,
    session: Session,
    kind: str,
    body: Mapping[str, Any],
    *,
    expected_edition_id: int,
    from_day: date | None = None,
    who: int | None,
) -> tuple[Change, ...]:
    """Put a new edition in force in a transaction of its own (`put_edition`)."""
    return put_edition(
        unit,
        session,
        kind,
        body,
        expected_edition_id=expected_edition_id,
        from_day=from_day,
        who=who,
    )


def put_edition(  # all named
    unit: UnitOfWork,
    session: Session,
    kind: str,
    body: Mapping[str, Any],
    *,
    expected_edition_id: int,
    from_day: date | None = None,
    who: int | None,
) -> tuple[Change, ...]:
    """Put a new edition in force, at once or from the beginning of a later day in the shop's zone.

    `expected_edition_id` is the newest edition when the page was opened (`newest`). Raises
    `Refused` with `key` for a value that can't be, `Already` when nothing differs, and
    `Overtaken`, naming the changes, when a colleague has changed the document since.
    """
    _must_be_known(kind)
    now = unit.now()
    latest = _latest(session, kind)
    if expected_edition_id != (latest.id if latest else 0):
        raise Overtaken(_overtaken_sentence(session, latest, expected_edition_id))
    start = begins(unit, session, from_day, now)
    in_force = _documents_at(session, start)
    _must_make_a_shop(session, kind, body, in_force)
    made = changes(in_force.get(kind, {}), body)
    if not made:
        raise Already(Message("Nothing has changed, so nothing was saved."))
    session.add(
        SettingsEdition(
            kind=kind, body=dict(body), effective_from=start, made_at=now, person_id=who
        )
    )
    session.flush()
    record(session, now, who, AuditVerb(f"put_{kind}"), _change_note(made, start, now))
    return made


@read_only
def newest(_unit: UnitOfWork, session: Session, kind: str) -> int:
    """Return the number of the newest edition, which an edit must expect."""
    latest = _latest(session, kind)
    return latest.id if latest else 0


def changes(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[Change, ...]:
    """Return every value that differs, by its path, in the order of the document."""
    old, new = dict(leaves(before)), dict(leaves(after))
    return tuple(
        Change(path, old.get(path, NOTHING), new.get(path, NOTHING))
        for path in {**old, **new}
        if old.get(path) != new.get(path)
    )


def leaves(value: Any, path: str = "") -> Iterator[tuple[str, str]]:
    """Yield path and text of every single value."""
    if isinstance(value, Mapping):
        for key, one in value.items():
            yield from leaves(one, f"{path}.{key}" if path else str(key))
    elif isinstance(value, list) and any(isinstance(one, Mapping) for one in value):
        for n, one in enumerate(value):
            yield from leaves(one, f"{path}[{n}]")
    elif isinstance(value, list):
        yield path, ", ".join(str(one) for one in value)
    else:
        yield path, str(value)


def _must_be_known(kind: str) -> None:
    if kind not in (*KINDS, *OPTIONAL):
        raise Unknown(Message("We can't find this document."))


def _latest(session: Session, kind: str) -> SettingsEdition | None:
    return session.scalars(
        sa.select(SettingsEdition)
        .where(SettingsEdition.kind == kind)
        .order_by(SettingsEdition.id.desc())
        .limit(1)
    ).first()


def begins(unit: UnitOfWork, session: Session, day: date | None, now: datetime) -> datetime:
    """Return when an edition from a day on comes in force; Refused for a day that can't be."""
    if day is None:
        return now
    start = unit.shop(session).week.moment(day, time(0))
    if start < now - timedelta(days=1):
        raise Refused(
            Message("This day is in the past. Choose today or a later day."), key="from_day"
        )
    if start > now + FURTHEST:
        raise Refused(Message("Choose a day within the next two years."), key="from_day")
    return max(start, now)


def _documents_at(session: Session, at: datetime) -> dict[str, Any]:
    rows = session.scalars(
        sa.select(SettingsEdition)
        .where(SettingsEdition.effective_from <= at)
        .order_by(SettingsEdition.effective_from, SettingsEdition.id)
    )
    return {row.kind: row.body for row in rows}


def _must_make_a_shop(
    session: Session, kind: str, body: Mapping[str, Any], others: Mapping[str, Any]
) -> None:
    """Check the document together with the others."""
    try:
        shop_of({**others, kind: body}, stock(session))
    except CraftError as wrong:
        key = wrong.key.removeprefix(f"{kind}.")
        raise Refused(wrong.sentence, key=key) from None


def _change_note(made: tuple[Change, ...], start: datetime, now: datetime) -> str | Message:
    more = f"; … ({len(made)})" if len(made) > TOLD_CHANGES else ""
    changes = f"{_listed(made)}{more}"
    return Message("from {day}: {changes}", day=start, changes=changes) if start > now else changes


def _listed(made: tuple[Change, ...]) -> str:
    return "; ".join(
        f"{one.path}: {_short(one.before)} → {_short(one.after)}" for one in made[:TOLD_CHANGES]
    )


def _short(text: str) -> str:
    one_line = " ".join(text.split())
    return one_line if len(one_line) <= TOLD_LETTERS else f"{one_line[:TOLD_LETTERS]}…"


def _overtaken_sentence(
    session: Session, latest: SettingsEdition | None, expected_edition_id: int
) -> Message:
    before = session.get(SettingsEdition, expected_edition_id)
    if latest is None or before is None:
        return Message("This page is out of date. Open it again.")
    name = session.scalar(sa.select(Person.name).where(Person.id == latest.person_id)) or ""
    made = changes(before.body, latest.body)[:TOLD_CHANGES]
    listed = _listed(made)
    return Message(
        "{name} has changed this ({listed}). Your entries are still here. Check them and save "
        "again.",
        name=name or Message("Somebody"),
        listed=listed or NOTHING,
        made=made,  # for who can say it in better words
    )
