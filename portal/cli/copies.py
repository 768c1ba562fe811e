"""`backup` and `restore`: a copy of the embedded database, and the way back.

Both look at a file before they believe it: it must be sound, ours, and of a form that this
version knows. Nothing is overwritten that isn't kept beside it first.
"""

import argparse
import os
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC
from pathlib import Path
from typing import Any

from portal.cli.erased import erased_before
from portal.cli.opening import opened, reader_of
from portal.cli.parsing import Parser
from portal.craft.messages import Message, Plural
from portal.orders.office.erasing import erase_again
from portal.render.text import render
from portal.settings import BadSetting, Settings, read_settings
from portal.store import migrations
from portal.store.sqlite_driver import driver
from portal.web.kit.http.clock import now

# tables that every form has, the first one too
OURS = frozenset({"alembic_version", "job", "part", "move"})
# what stands beside a database while it is used
JOURNALS = ("-journal", "-wal", "-shm")
JOBS = Plural("{count} job", "{count} jobs")
COPIED = Message(
    "Copied {jobs} to {file}. The copy holds personal data and photos. Keep {secret} and {erased} "
    "with it."
)
RESTORED = Message("Restored {jobs} from {file}. What was here before is in {before}. {erased}")
RESTORED_FIRST = Message("Restored {jobs} from {file}. {erased}")
UPGRADED = Message("The copy was of the form {old} and was brought to {new}.")
ERASED_AGAIN = Plural("{count} customer was erased again.", "{count} customers were erased again.")


@dataclass(frozen=True, slots=True)
class Copy:
    """What a database file holds: its form (number of the migration) and how many jobs."""

    form: str
    jobs: int


def arguments(verb: str, parser: Parser) -> None:
    parser.add_argument("file", type=Path, help=Message("the file of the backup"))
    if verb == "restore":
        parser.add_argument(
            "--force",
            action="store_true",
            help=Message("also where the backup has fewer jobs than there are now"),
        )


def run(verb: str, args: argparse.Namespace) -> int:
    settings = read_settings()
    answer = (
        backup(settings, args.file)
        if verb == "backup"
        else restore(settings, args.file, force=args.force)
    )
    reader = reader_of(settings, args.lang)
    print("\n".join(render(one, reader) for one in answer))
    return 0


def backup(settings: Settings, target: Path) -> list[Message]:
    """Copy the database to `target`, checked and readable by its owner alone, or raise BadSetting.

    `target` appears whole or not at all: the copy is made beside it and then renamed.
    """
    here = _file_of(settings)
    looked_at(here, Message("There is no database at {file}.", file=str(here)))
    with _new_file(target) as made:
        _copy(here, made)
        _make_one_file(made)
        copy = looked_at(made)
        made.replace(target)
    says = Message(
        COPIED.msgid,
        jobs=JOBS.of(copy.jobs),
        file=str(target),
        secret=str(settings.data_dir / "secret_key"),
        erased=str(settings.data_dir / "erased.txt"),
    )
    return [says]


def restore(settings: Settings, source: Path, *, force: bool = False) -> list[Message]:
    """Put `source` in the place of the database, or raise BadSetting and change nothing."""
    here = _file_of(settings)
    copy = looked_at(source, Message("There is no file {file}.", file=str(source)))
    before = _kept_before(here, copy, force=force)
    here.parent.mkdir(parents=True, exist_ok=True)
    if not here.exists():
        os.close(os.open(here, os.O_WRONLY | os.O_CREAT, 0o600))
    _copy(source, here)
    migrations.upgrade(settings.database_url)
    with opened(settings) as unit:
        again = erase_again(unit, erased_before(settings))
    words = {"jobs": JOBS.of(copy.jobs), "file": str(source), "erased": ERASED_AGAIN.of(again)}
    said = Message(RESTORED.msgid, before=before.name, **words) if before else None
    upgraded = Message(UPGRADED.msgid, old=copy.form, new=migrations.head())
    return [
        said or Message(RESTORED_FIRST.msgid, **words),
        *([upgraded] if copy.form != migrations.head() else []),
    ]


def _kept_before(here: Path, copy: Copy, *, force: bool) -> Path | None:
    """Keep what is here now under a name of its own; refuse fewer jobs than it has."""
    if not here.exists() or here.stat().st_size == 0:
        return None
    jobs = _jobs_in(here)
    if not force and (copy.jobs < jobs or not copy.jobs):
        raise BadSetting(
            Message(
                "There are {now} here, and {coming} in the backup. Nothing was changed. "
                "--force restores it all the same.",
                now=JOBS.of(jobs),
                coming=JOBS.of(copy.jobs),
            )
        )
    stamp = now().astimezone(UTC).strftime("%Y%m%dT%H%M%S")
    aside = here.with_name(f"before-restore-{stamp}.sqlite3")
    if not _is_sound(here):
        _set_aside(here, aside)
        return aside
    with _new_file(aside) as made:
        _copy(here, made)
        _make_one_file(made)
        made.replace(aside)
    return aside


def _file_of(settings: Settings) -> Path:
    prefix = "sqlite:///"
    if not settings.database_url.startswith(prefix):
        raise BadSetting(
            Message(
                "This command is for the embedded database. For PostgreSQL use pg_dump and "
                "pg_restore; “sweep” then erases again who was erased."
            )
        )
    return Path(settings.database_url.removeprefix(prefix))


def looked_at(file: Path, missing: Message | None = None) -> Copy:
    """Return what a file holds; raise BadSetting where it is no database of ours."""
    if missing and not file.is_file():
        raise BadSetting(missing)
    try:
        with closing(_reading(file)) as base:
            sound = base.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
            tables = {name for (name,) in base.execute("SELECT name FROM sqlite_master")}
            if not sound or not tables >= OURS:
                raise _damaged(file)
            form = str(base.execute("SELECT version_num FROM alembic_version").fetchone()[0])
            copy = Copy(form, int(base.execute("SELECT count(*) FROM job").fetchone()[0]))
    except (driver.Error, TypeError):
        raise _damaged(file) from None
    if copy.form not in migrations.forms():
        raise BadSetting(
            Message(
                "{file} was written by a newer version (form {form}). Install that version first. "
                "Nothing was changed.",
                file=str(file),
                form=copy.form,
            )
        )
    return copy


def _damaged(file: Path) -> BadSetting:
    return BadSetting(
        Message("{file} is damaged, or is not a backup. Nothing was changed.", file=str(file))
    )


def _jobs_in(file: Path) -> int:
    """Count the jobs of a file; none where it can't be read: a broken one may be replaced."""
    try:
        with closing(_reading(file)) as base:
            return int(base.execute("SELECT count(*) FROM job").fetchone()[0])
    except driver.Error:
        return 0


def _is_sound(file: Path) -> bool:
    try:
        with closing(_reading(file)) as base:
            return bool(base.execute("PRAGMA integrity_check").fetchone()[0] == "ok")
    except driver.Error:
        return False


def _set_aside(broken: Path, aside: Path) -> None:
    """Rename a database that can't be read, and its journal, so that it can still be repaired."""
    for end in ("", *JOURNALS):
        if (file := Path(f"{broken}{end}")).exists():
            file.replace(f"{aside}{end}")


def _reading(file: Path) -> Any:
    return driver.connect(f"{file.resolve().as_uri()}?mode=ro", uri=True)


def _copy(source: Path, target: Path) -> None:
    try:
        with closing(_reading(source)) as old, closing(driver.connect(target)) as new:
            old.backup(new)
    except driver.Error as wrong:
        raise BadSetting(
            Message("We can't write {file} ({why}).", file=str(target), why=str(wrong))
        ) from None


def _make_one_file(copy: Path) -> None:
    """Let a copy of our own have no journal beside it, so that it can be moved alone."""
    with closing(driver.connect(copy)) as base:
        base.execute("PRAGMA journal_mode=DELETE")


@contextmanager
def _new_file(near: Path) -> Iterator[Path]:
    """Yield an empty file of our own beside another; it is gone again unless it was renamed."""
    made = near.with_name(f".{near.name}.{os.getpid()}")
    try:
        os.close(os.open(made, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600))
        yield made
    except OSError as wrong:
        why = os.strerror(wrong.errno or 0)
        raise BadSetting(
            Message("We can't write {file} ({why}).", file=str(near), why=why)
        ) from None
    finally:
        made.unlink(missing_ok=True)
