"""The forms of the database that a works could have run, each with the demo's week in it.

`released/form_NNNN.json.xz` holds every row that the code of that form wrote for its demo; only
the simulated floor is left out, which the worker makes anew. These forms are kept because of what
came after each:

* 0001, the first one;
* 0006, before customers and forecasts left the job's row (0007);
* 0012, before the words of the logs (0013) and the accounts (0015), which took the payments along;
* 0017, with receipts and the till, before trade customers (0020);
* 0023, with promises and the simulated floor, before the states of events (0026);
* 0027, before erasing by person (0031) and what customers are told of dates (0028);
* 0032, the newest when this was written.

`python -m tests.store.released` adds the file of the newest form, made by the code as it is.
"""

import json
import lzma
import sys
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

import sqlalchemy as sa

from portal.settings import Settings
from portal.store import migrations
from portal.store.engine import make_engine
from tests.store.old_form import Rows, dump, load

FOLDER = Path(__file__).with_name("released")
MADE_ANEW = "simulated_floor"
DAY = datetime(2026, 11, 27, 9, 0, tzinfo=UTC)
# the order in which a released database has gone through its migrations; it never changes
CHAIN = (
    "0001",
    "0002",
    "0003",
    "0004",
    "0005",
    "0006",
    "0007",
    "0008",
    "0009",
    "0010",
    "0011",
    "0012",
    "0013",
    "0014",
    "0015",
    "0016",
    "0017",
    "0018",
    "0019",
    "0020",
    "0022",
    "0023",
    "0025",
    "0026",
    "0027",
    "0029",
    "0028",
    "0031",
    "0030",
    "0032",
    "0034",
    "0037",
    "0033",
    "0038",
    "0041",
    "0039",
)


def forms() -> list[str]:
    """Return the numbers of the kept forms, oldest first."""
    found = {one.name[5:9] for one in FOLDER.glob("form_*.json.xz")}
    return [one for one in CHAIN if one in found] + sorted(found - set(CHAIN))


def rows_of(form: str) -> Rows:
    """Return all rows of a kept form, by table."""
    packed = (FOLDER / f"form_{form}.json.xz").read_bytes()
    rows: Rows = json.loads(lzma.decompress(packed))
    return rows


def fill(url: str, form: str) -> None:
    """Bring an empty database to an old form, and put its rows into it."""
    migrations.upgrade(url, form)
    engine = make_engine(url)
    load(engine, rows_of(form))
    if engine.dialect.name == "postgresql":
        _numbers_go_on(engine)
    engine.dispose()


def _numbers_go_on(engine: sa.Engine) -> None:
    """Let the next number of each table come after the last one that was given."""
    with engine.begin() as connection:
        for table in sa.inspect(engine).get_table_names():
            names = [one["name"] for one in sa.inspect(engine).get_columns(table)]
            if "id" in names:
                connection.exec_driver_sql(
                    f"SELECT setval(pg_get_serial_sequence('{table}', 'id'), max(id)) "
                    f"FROM {table} HAVING max(id) IS NOT NULL"
                )


def keep(url: str, form: str) -> Path:
    """Write the rows of a database to the file of its form."""
    engine = make_engine(url)
    rows = dump(engine)
    engine.dispose()
    rows.pop(MADE_ANEW, None)
    out = FOLDER / f"form_{form}.json.xz"
    FOLDER.mkdir(exist_ok=True)
    out.write_bytes(lzma.compress(json.dumps(rows, ensure_ascii=False).encode(), preset=9))
    return out


def main() -> int:
    """Make the demo with the code as it is and keep its rows; or keep those of a file."""
    from portal.cli.demo import prepare

    if len(sys.argv) > 1:
        print(keep(f"sqlite:///{sys.argv[1]}", migrations.current(f"sqlite:///{sys.argv[1]}")))
        return 0
    with TemporaryDirectory() as folder:
        url = f"sqlite:///{folder}/demo.sqlite3"
        settings = Settings(
            database_url=url,
            base_url="http://127.0.0.1:8000",
            data_dir=Path(folder),
            secret_key="x" * 40,
            demo=True,
        )
        prepare(settings, today=DAY)
        print(keep(url, migrations.head()))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
