"""Every table as rows for a spreadsheet, so that the shop's data is never locked in.

Secrets are left out: passwords, PINs, keys of sessions and devices, and what opens a customer's
page or hands over the parts (links, pickup codes, letters with either in their text).
"""

import zipfile
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import IO, Any

import sqlalchemy as sa

from portal.craft.messages import Message
from portal.orders.kernel.audit_log import record
from portal.orders.kernel.errors import Unknown
from portal.orders.kernel.unit import UnitOfWork
from portal.orders.office.export_heads import head, title
from portal.shop.money import Money
from portal.shop.verbs import AuditVerb
from portal.store.tables import Base, Job

SECRET_TABLES = frozenset(
    {
        *("staff_session", "known_device", "held_form", "sign_in_try", "receipt", "recovery_code"),
        *("firm_session", "firm_link", "push_key", "push_subscription", "secret_fingerprint"),
    }
)
SECRET_COLUMNS = frozenset(
    {
        *("password_hash", "pin_hash", "totp_secret", "totp_last", "jpeg"),
        *("token", "token_hash", "record_token", "pickup_code", "search"),
        *("text", "html", "calendar", "message_id", "unsubscribe"),
    }
)
KEPT_COLUMNS = frozenset({("question", "text")})  # what a customer wrote holds no link of ours
# made anew within minutes
DERIVED_TABLES = frozenset({"simulated_floor", "heartbeat"})
AT_A_TIME = 1000
Write = Callable[[Iterable[Message], Iterable[Sequence[Any]]], Iterator[bytes]]


@dataclass(frozen=True, slots=True)
class Exported:
    """A table: its heads, and its rows in order of their keys (read as they are taken)."""

    heads: tuple[Message, ...]
    rows: Iterator[Sequence[Any]]


def table_names() -> tuple[str, ...]:
    """Return the names of the exported tables, sorted."""
    return tuple(sorted(set(Base.metadata.tables) - SECRET_TABLES - DERIVED_TABLES))


def tables() -> tuple[tuple[str, Message], ...]:
    """Return the name of each exported table with what it holds."""
    return tuple((name, title(name)) for name in table_names())


def columns_of(name: str) -> list[sa.Column[Any]]:
    """Return the columns of a table that are exported."""
    return [
        column
        for column in Base.metadata.tables[name].columns
        if column.name not in SECRET_COLUMNS or (name, column.name) in KEPT_COLUMNS
    ]


def exported(unit: UnitOfWork, name: str) -> Exported:
    """Return a table; raise Unknown where there is none of this name."""
    if name not in table_names():
        raise Unknown(Message("We can't find this table."))
    heads = tuple(head(column.name) for column in columns_of(name))
    return Exported(heads, _rows(unit, name))


def write_everything(unit: UnitOfWork, target: IO[bytes], write: Write, *, who: int | None) -> None:
    """Write every table into one ZIP archive, each by `write`."""
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in table_names():
            table = exported(unit, name)
            with archive.open(f"{name}.csv", "w") as entry:
                for piece in write(table.heads, table.rows):
                    entry.write(piece)
    unit.write(
        lambda session: record(session, unit.now(), who, AuditVerb.EXPORT, Message("everything"))
    )


def _rows(unit: UnitOfWork, name: str) -> Iterator[Sequence[Any]]:
    table, columns = Base.metadata.tables[name], columns_of(name)
    in_minor = [column.name.endswith("_minor") for column in columns]
    query = sa.select(*columns, *_currency(table)).order_by(*table.primary_key.columns)
    with unit.read() as session:
        usual = unit.shop(session).currency
        for row in session.execute(query, execution_options={"yield_per": AT_A_TIME}):
            currency = row[len(columns)] if len(row) > len(columns) else usual
            yield [
                Money(value, currency) if minor and value is not None else value
                for minor, value in zip(in_minor, row, strict=False)
            ]


def _currency(table: sa.Table) -> tuple[sa.ColumnElement[str], ...]:
    """Return in which currency the sums of a table are, where its rows say it."""
    if "currency" in table.columns:
        return (table.columns["currency"].label("in_currency"),)
    if "job_id" not in table.columns:
        return ()
    own = sa.select(Job.currency).where(Job.id == table.columns["job_id"])
    return (own.scalar_subquery().label("in_currency"),)
