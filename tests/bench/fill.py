"""Fills a database with many jobs, copies of a real one with codes and tokens of their own."""

import random
from pathlib import Path
from typing import Any

from portal.shop.codes import new_code, new_token
from portal.store.sqlite_driver import driver

BATCH = 5_000
OPEN_STATES = ("booked", "received", "waiting", "in_work", "ready")


def fill(database: Path, wanted: int) -> None:
    """Copy handed-back jobs, with their parts and events, until there are `wanted` jobs.

    Only jobs that have ended are copied: a shop has a few dozen open jobs, and years of old ones.
    """
    chance = random.Random(5)
    with driver.connect(database) as link:
        link.execute("PRAGMA synchronous=OFF")
        have = link.execute("SELECT count(*) FROM job").fetchone()[0]
        old = link.execute("SELECT id FROM job WHERE state = 'handed_back' LIMIT 1").fetchone()
        assert old, "the demo has a job that was handed back"
        for start in range(have, wanted, BATCH):
            count = min(BATCH, wanted - start)
            jobs = _copy_jobs(link, old[0], count, chance)
            for table in ("part", "move"):
                _copy_rows(link, table, old[0], jobs)
    link.close()


def _columns(link: Any, table: str) -> list[str]:
    return [row[1] for row in link.execute(f"PRAGMA table_info({table})") if row[1] != "id"]


def _copy_jobs(link: Any, old: int, count: int, chance: random.Random) -> list[int]:
    names = _columns(link, "job")
    row = dict(
        zip(
            names,
            link.execute(f"SELECT {', '.join(names)} FROM job WHERE id = ?", (old,)).fetchone(),
            strict=True,
        )
    )
    first = link.execute("SELECT max(id) FROM job").fetchone()[0] + 1
    rows = []
    taken = {row[0] for row in link.execute("SELECT code FROM job")}
    for i in range(count):
        # among a hundred thousand codes two may meet
        code = next(c for c in iter(lambda: new_code(chance.randbytes), "") if c not in taken)
        taken.add(code)
        fresh = {"code": code, "token": new_token(chance.randbytes), "name": f"Someone {first + i}"}
        if "search" in row:
            fresh["search"] = f"{code.lower()} someone {first + i}"
        rows.append((first + i, *({**row, **fresh}[name] for name in names)))
    marks = ", ".join("?" * (len(names) + 1))
    link.executemany(f"INSERT INTO job (id, {', '.join(names)}) VALUES ({marks})", rows)
    return [row[0] for row in rows]


def _copy_rows(link: Any, table: str, old: int, jobs: list[int]) -> None:
    names = _columns(link, table)
    found = link.execute(
        f"SELECT {', '.join(names)} FROM {table} WHERE job_id = ?", (old,)
    ).fetchall()
    once = {"tag", "scan_id", "part_id"}
    rows = []
    for job in jobs:
        for one in found:
            values = dict(zip(names, one, strict=True)) | {"job_id": job}
            rows.append(tuple(None if name in once else values[name] for name in names))
    marks = ", ".join("?" * len(names))
    link.executemany(f"INSERT INTO {table} ({', '.join(names)}) VALUES ({marks})", rows)
