"""Everything as CSV, one file a table, so that the shop's data is never locked in.

Secrets (passwords, PINs, keys of sessions and devices) are left out. A text that a spreadsheet
would run as a formula gets an apostrophe before it.
"""

import csv
import io
import json
import zipfile
from collections.abc import Callable, Iterator
from datetime import datetime
from enum import Enum
from typing import IO, Any

import sqlalchemy as sa

from portal.craft.messages import Message
from portal.orders.kernel.audit_log import record
from portal.orders.kernel.errors import Unknown
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.verbs import AuditVerb
from portal.store.tables import Base

SECRET_TABLES = frozenset({"staff_session", "known_device", "held_form", "sign_in_try", "receipt"})
SECRET_COLUMNS = frozenset({"password_hash", "pin_hash", "totp_secret", "totp_last", "jpeg"})
# OWASP, CSV injection; a telephone number in E.164 begins with a plus and stays as it is
FORMULA = ("=", "@", "\t", "\r")
AT_A_TIME = 1000
Words = Callable[[Message], str]


def table_names() -> tuple[str, ...]:
    """Return the names of the exported tables, sorted."""
    return tuple(sorted(set(Base.metadata.tables) - SECRET_TABLES))


def csv_lines(unit: UnitOfWork, name: str, words: Words) -> Iterator[str]:
    """Yield a table as CSV, a piece at a time, so that a large one does not fill the memory.

    `words` writes a message as its reader has it.
    """
    if name not in table_names():
        raise Unknown(Message("We can't find this table."))
    table = Base.metadata.tables[name]
    columns = [c for c in table.columns if c.name not in SECRET_COLUMNS]
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow([c.name for c in columns])
    with unit.read() as session:
        rows = session.execute(
            sa.select(*columns).order_by(*table.primary_key.columns),
            execution_options={"yield_per": AT_A_TIME},
        )
        for some in rows.partitions():
            writer.writerows([[_plain(value, words) for value in row] for row in some])
            yield out.getvalue()
            out.seek(0)
            out.truncate()
    yield out.getvalue()


def write_everything(unit: UnitOfWork, target: IO[bytes], words: Words, *, who: int | None) -> None:
    """Write every table into one ZIP archive."""
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in table_names():
            with archive.open(f"{name}.csv", "w") as entry:
                for piece in csv_lines(unit, name, words):
                    entry.write(piece.encode())
    unit.write(lambda session: record(session, unit.now(), who, AuditVerb.EXPORT, "everything"))


def _plain(value: Any, words: Words) -> Any:
    if isinstance(value, Message):
        value = words(value)
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, dict | list):
        return json.dumps(value, ensure_ascii=False, sort_keys=True)
    if isinstance(value, str) and value.startswith(FORMULA):
        return f"'{value}"
    return value
