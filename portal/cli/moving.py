"""`move`: copies an embedded database to an empty PostgreSQL one and proves that nothing differs.

The embedded one is only read. All or nothing arrives: the copy is one transaction, which is given
up where a row differs, or where somebody changed the embedded database meanwhile.
"""

import argparse
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import sqlalchemy as sa
from sqlalchemy.exc import DBAPIError

from portal.cli.copies import JOBS, looked_at
from portal.cli.opening import reader_of
from portal.cli.parsing import Parser
from portal.craft.messages import Message, Plural
from portal.render.text import render
from portal.settings import BadSetting, Settings, read_settings
from portal.store import migrations
from portal.store.engine import make_reading_engine
from portal.store.transfer import Differs, NotEmpty, Unfit, must_be_empty, transfer

ROWS = Plural("{count} row", "{count} rows")


def arguments(_verb: str, parser: Parser) -> None:
    parser.add_argument(
        "file",
        type=Path,
        nargs="?",
        help=Message("the embedded database; the one in PORTAL_DATA if left out"),
    )


def run(_verb: str, args: argparse.Namespace) -> int:
    settings = read_settings()
    answer = move(settings, args.file or settings.data_dir / "portal.sqlite3")
    reader = reader_of(settings, args.lang)
    print("\n".join(render(one, reader) for one in answer))
    return 0


def move(settings: Settings, file: Path) -> list[Message]:
    """Fill the settings' PostgreSQL database from `file`, or raise BadSetting and change nothing.

    The settings' folder has to be the one of the embedded database, or to have its files.
    """
    if not settings.database_url.startswith("postgresql"):
        raise BadSetting(
            Message("DATABASE_URL must name the empty PostgreSQL database that is to be filled.")
        )
    copy = looked_at(file, Message("There is no database at {file}.", file=str(file)))
    if copy.form != migrations.head():
        raise BadSetting(
            Message(
                "{file} is of the form {form}, and this version needs {head}. Run “migrate” on it "
                "first. Nothing was changed.",
                file=str(file),
                form=copy.form,
                head=migrations.head(),
            )
        )
    with _in_plain_words():
        rows = _fill(file, settings.database_url)
    return [
        Message(
            "Moved {jobs} with everything that belongs to them ({rows}), photos included. Each row "
            "was read back and compared: nothing differs.",
            jobs=JOBS.of(copy.jobs),
            rows=ROWS.of(rows),
        ),
        Message(
            "From now on start the portal with this DATABASE_URL. {secret} and {erased} stay where "
            "they are: every machine that serves needs the same secret, as PORTAL_SECRET or as a "
            "copy of that file. {file} is as it was; keep it until you are sure.",
            secret=str(settings.data_dir / "secret_key"),
            erased=str(settings.data_dir / "erased.txt"),
            file=str(file),
        ),
    ]


def _fill(file: Path, url: str) -> int:
    engine = make_reading_engine(file)
    try:
        with migrations.connected(url) as target, engine.connect() as source:
            must_be_empty(target)
            migrations.upgrade_on(target)
            before = _changes(source)
            with source.begin():
                rows = transfer(source, target)
            if _changes(source) != before:
                raise BadSetting(
                    Message(
                        "Somebody changed {file} while it was copied. Stop the portal first. "
                        "Nothing was moved.",
                        file=str(file),
                    )
                )
            return rows
    finally:
        engine.dispose()


def _changes(source: sa.Connection) -> int:
    """Return a number that changes when any other process has written to the file."""
    cursor = source.connection.cursor()
    return int(cursor.execute("PRAGMA data_version").fetchone()[0])


@contextmanager
def _in_plain_words() -> Iterator[None]:
    """Say what went wrong with the target in one sentence."""
    try:
        yield
    except NotEmpty:
        raise BadSetting(
            Message("The PostgreSQL database is not empty. Nothing was changed.")
        ) from None
    except Unfit as wrong:
        raise BadSetting(
            Message(
                "PostgreSQL can't hold a row of the table {table} ({why}). Nothing was moved.",
                table=wrong.table,
                why=wrong.why,
            )
        ) from None
    except Differs as wrong:
        raise BadSetting(
            Message(
                "The copy differs in the table {table}, row {key}. Nothing was moved.",
                table=wrong.table,
                key=" ".join(map(str, wrong.key)),
            )
        ) from None
    except DBAPIError as wrong:
        raise BadSetting(
            Message(
                "The PostgreSQL database can't be used ({why}). Nothing was moved.",
                why=str(wrong.orig).strip().partition("\n")[0],
            )
        ) from None
