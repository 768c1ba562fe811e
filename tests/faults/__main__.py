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
from tests.faults.kills import Row, kill_many
from tests.faults.others import POSTGRES, SQLITE, database_of, safe_server
from tests.faults.stepped.sitecustomize import FORGETS, LOSES
from tests.postgres import Cluster, room

KILLS = 100
PLANTED_KILLS = 4
OUT = HOUSE / "build" / "faults.json"


def rows(
    kills: int, seed: int, folder: Path, server: Cluster
) -> Iterator[tuple[str, Callable[[], Row]]]:
    """Yield each fault by its name, and what runs it."""
    urls = {
        SQLITE: lambda name: f"sqlite:///{folder}/{name}.sqlite3",
        POSTGRES: lambda name: database_of(server, name),
    }
    for kind, url in urls.items():
        yield (
            f"{kind} kills",
            lambda kind=kind, url=url: kill_many(
                kind, url("kills"), folder / f"{kind}-kills", kills, seed
            ),
        )
        yield (
            f"{kind} clock",
            lambda kind=kind, url=url: others.clock_steps(
                kind, url("clock"), folder / f"{kind}-clock"
            ),
        )
    yield "SQLite held", lambda: others.held_sqlite(folder / "held")
    yield "PostgreSQL held", lambda: others.held_postgres(server, folder / "pg-held")
    yield "PostgreSQL killed", lambda: others.killed_postgres(server, folder / "pg-killed")
    if may_mount():
        yield "SQLite full", lambda: others.full_disk_sqlite(folder / "full")
        yield "SQLite read-only", lambda: others.read_only_sqlite(folder / "only")
        yield "PostgreSQL full", lambda: others.full_disk_postgres(folder / "pg-full")
    for number, planted in enumerate((FORGETS, LOSES)):
        yield (
            f"planted: {planted}",
            lambda number=number, planted=planted: _planted(folder, number, seed, planted),
        )


def _planted(folder: Path, number: int, seed: int, planted: str) -> Row:
    """A fault of our own that the counting must find."""
    url = f"sqlite:///{folder}/planted{number}.sqlite3"
    found = kill_many(SQLITE, url, folder / f"planted{number}", PLANTED_KILLS, seed, planted)
    noticed = f"noticed {len(found.faults)} times, first: {(found.faults or ['never'])[0]}"
    missed = [] if found.faults else ["nothing noticed"]
    return Row(f"planted: {planted}", SQLITE, found.times, noticed, missed)


def main() -> int:
    """Run everything; 1 where something does not hold."""
    # what was started and mounted is ended, too, where somebody ends this
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))
    told = [one for one in sys.argv[1:] if one]
    kills, seed = int(told[0]) if told else KILLS, int(told[1]) if len(told) > 1 else 1
    only = os.environ.get("ONLY", "")
    table = _earlier() if only else {}
    held = True
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
            held &= row.holds
            print(_line(row, perf_counter() - began), flush=True)
            table[title] = asdict(row)
            OUT.parent.mkdir(exist_ok=True)
            OUT.write_text(json.dumps(table, indent=1), "utf-8")
    return 0 if held else 1


def _earlier() -> dict[str, dict[str, object]]:
    """Return the rows of earlier runs by their name."""
    return dict(json.loads(OUT.read_text("utf-8"))) if OUT.exists() else {}


def _line(row: Row, seconds: float) -> str:
    verdict = "holds" if row.holds else "FAILS"
    head = f"{row.database:11}{row.fault:32}{row.times:4}  {verdict}  {seconds:5.0f} s  {row.told}"
    return "\n".join([head, *(f"      {one}" for one in row.faults[:12])])


if __name__ == "__main__":
    raise SystemExit(main())
