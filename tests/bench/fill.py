"""Fills a database with years of closed jobs: copies of a real one, each earlier than the next."""

import random
from pathlib import Path
from typing import Any

from portal.shop.codes import new_code, new_token
from portal.store.sqlite_driver import driver

MINUTES_APART = 50  # a hundred thousand jobs are nine and a half years
TABLES = ("customer", "job", "part", "move", "promise", "ledger_entry")
# what stands in one row alone, or names a row that isn't copied
ONCE = {"tag", "scan_id", "part_id", "record_token", "reverses_id", "finding_id"}
OWN = {
    "code": "bench_fresh.code",
    "token": "bench_fresh.token",
    "search": "lower(bench_fresh.code) || ' someone ' || bench_fresh.id",
    "name": "'Someone ' || bench_fresh.id",
    "job_id": "bench_fresh.id",
    "customer_id": "bench_fresh.id",
}


def fill(database: Path, wanted: int) -> None:
    """Copy a job until there are `wanted`, with its parts, events and account.

    It is one that was handed back and paid: a shop has a few dozen open jobs, and years of old
    ones. The one with the fewest events is taken, or filling would take longer than measuring.
    """
    with driver.connect(database) as link:
        link.execute("PRAGMA synchronous=OFF")
        link.execute("PRAGMA cache_size=-200000")
        have = link.execute("SELECT count(*) FROM job").fetchone()[0]
        old = link.execute(
            "SELECT job.id, customer_id FROM job JOIN ledger_entry AS entry ON job_id = job.id "
            "WHERE state = 'handed_back' AND firm_id IS NULL GROUP BY job.id "
            "HAVING sum(amount_minor) = 0 "
            "ORDER BY (SELECT count(*) FROM move WHERE move.job_id = job.id) LIMIT 1"
        ).fetchone()
        assert old, "the demo has a job that was handed back and paid"
        _name(link, wanted - have)
        for table in TABLES:
            _copy(link, table, *old)
        link.execute("DROP TABLE bench_fresh")
        link.execute("ANALYZE")
    link.close()


def _name(link: Any, count: int) -> None:
    """Give `count` jobs to come their numbers, codes and links."""
    chance = random.Random(5)
    (first,) = link.execute(
        "SELECT 1 + max((SELECT max(id) FROM job), (SELECT max(id) FROM customer))"
    ).fetchone()
    taken = {row[0] for row in link.execute("SELECT code FROM job")}
    rows = []
    for n in range(count):
        # among a hundred thousand codes two may meet
        code = next(c for c in iter(lambda: new_code(chance.randbytes), "") if c not in taken)
        taken.add(code)
        rows.append((first + n, n, code, new_token(chance.randbytes)))
    link.execute("CREATE TEMP TABLE bench_fresh (id INTEGER PRIMARY KEY, n, code, token)")
    link.executemany("INSERT INTO bench_fresh VALUES (?, ?, ?, ?)", rows)


def _copy(link: Any, table: str, job: int, customer: int) -> None:
    """Copy the rows of a job in a table for each job that is to come."""
    columns = {row[1]: row[2] for row in link.execute(f"PRAGMA table_info({table})")}
    own = table in {"job", "customer"}
    if not own:
        columns.pop("id", None)
    values = {name: _value(table, name, kind) for name, kind in columns.items()}
    link.execute(
        f"INSERT INTO {table} ({', '.join(values)}) SELECT {', '.join(values.values())} "
        f"FROM bench_fresh CROSS JOIN {table} WHERE {table}.{'id' if own else 'job_id'} = ? "
        f"ORDER BY bench_fresh.id",
        (customer if table == "customer" else job,),
    )


def _value(table: str, name: str, kind: str) -> str:
    if name in ONCE:
        return "NULL"
    if name == "id":
        return "bench_fresh.id"
    if name in OWN and not (table == "part" and name == "name"):
        return OWN[name]
    if kind == "DATETIME":
        back = f"'-' || ({MINUTES_APART} * bench_fresh.n) || ' minutes'"
        return f"strftime('%Y-%m-%d %H:%M:%S.000000', {table}.{name}, {back})"
    return f"{table}.{name}"
