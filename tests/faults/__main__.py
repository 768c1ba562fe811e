"""`python -m tests.faults KILLS SEED`: all faults on both databases, as a table.

The table goes to `build/faults.json`, too. `ONLY=words` runs the rows whose name has these words
and leaves the others in the table as an earlier run found them.
"""

import json
import os
import signal
import sys
import traceback
from collections.abc import Callable, Iterator
from dataclasses import asdict
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter

from tests.conftest import HOUSE
from tests.faults import others
from tests.faults.disks import may_mount
from tests.faults.kills import kill_many
from tests.faults.others import POSTGRES, SQLITE, database_of, safe_server
from tests.faults.plants import FOUND, plant
from tests.faults.rows import Row
from tests.postgres import Cluster, room

KILLS = 100
OUT = HOUSE / "build" / "faults.json"


def rows(
    kills: int, seed: int, folder: Path, server: Cluster
) -> Iterator[tuple[str, Callable[[], Row]]]:
    """Yield each fault by its name, and what runs it."""
    for kind in (SQLITE, POSTGRES):
        yield from _on_both(kind, kills, seed, folder, server)
    yield "SQLite held", lambda: others.held_sqlite(folder / "held")
    yield "PostgreSQL held", lambda: others.held_postgres(server, folder / "pg-held")
    yield "PostgreSQL killed", lambda: others.killed_postgres(server, folder / "pg-killed")
    if may_mount():
        yield "SQLite full", lambda: others.full_disk_sqlite(folder / "full")
        yield "SQLite read-only", lambda: others.read_only_sqlite(folder / "only")
        yield "PostgreSQL full", lambda: others.full_disk_postgres(folder / "pg-full")


def _on_both(
    kind: str, kills: int, seed: int, folder: Path, server: Cluster
) -> Iterator[tuple[str, Callable[[], Row]]]:
    """Yield what happens to either database."""

    def url(name: str) -> str:
        if kind == SQLITE:
            return f"sqlite:///{folder}/{name}.sqlite3"
        return database_of(server, name)

    def home(name: str) -> Path:
        return folder / f"{kind}-{name}"

    for number, planted in enumerate(FOUND):
        name = f"planted{number}"
        yield (
            f"{kind} planted: {planted}",
            lambda planted=planted, name=name: plant(planted, kind, url(name), home(name), seed),
        )
    yield f"{kind} clock", lambda: others.clock_steps(kind, url("clock"), home("clock"))
    yield f"{kind} mail server", lambda: others.mail_server(kind, url("mail"), home("mail"))
    yield f"{kind} kills", lambda: kill_many(kind, url("kills"), home("kills"), kills, seed)


def main() -> int:
    """Run everything; 1 where something does not hold."""
    # what was started and mounted is ended, too, where somebody ends this
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))
    told = [one for one in sys.argv[1:] if one]
    kills, seed = int(told[0]) if told else KILLS, int(told[1]) if len(told) > 1 else 1
    only = os.environ.get("ONLY", "")
    table = _earlier() if only else {}
    with TemporaryDirectory(prefix="faults-", dir=room()) as name, safe_server() as server:
        Path(name).chmod(0o755)
        for title, run in rows(kills, seed, Path(name), server):
            if only not in title:
                continue
            began = perf_counter()
            try:
                row = run()
            except Exception:
                row = Row(title, "", 0, "", [traceback.format_exc()])
            took = round(perf_counter() - began)
            print(_line(row, took), flush=True)
            table[title] = {**asdict(row), "holds": row.holds, "seconds": took}
            OUT.parent.mkdir(exist_ok=True)
            OUT.write_text(json.dumps(table, indent=1, ensure_ascii=False), "utf-8")
    held = sum(bool(row["holds"]) for row in table.values())
    print(f"{held} of {len(table)} rows hold", flush=True)
    return 0 if held == len(table) else 1


def _earlier() -> dict[str, dict[str, object]]:
    """Return the rows of earlier runs by their name."""
    return dict(json.loads(OUT.read_text("utf-8"))) if OUT.exists() else {}


def _line(row: Row, seconds: int) -> str:
    verdict = "holds" if row.holds else "FAILS"
    head = f"{row.database:11}{row.fault:40}{row.times:4}  {verdict}  {seconds:5} s  {row.told}"
    return "\n".join([head, *(f"      {one}" for one in row.faults[:12])])


if __name__ == "__main__":
    raise SystemExit(main())
