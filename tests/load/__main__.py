"""`python -m tests.load SECONDS`: two machines under load, and slow clients.

Figures go to build/load.json.

Two machines of two processes each share one PostgreSQL, which here waits for the disk as in
earnest. Fifty customers and twenty scanners each do one thing a second. Then two hundred clients
send a byte a second to one machine, without a proxy and behind the example of nginx.
"""

import json
import os
import sys
import time
from contextlib import ExitStack
from pathlib import Path
from tempfile import TemporaryDirectory, gettempdir
from typing import Any

import sqlalchemy as sa

from portal.orders.access import passwords
from portal.orders.kernel.unit import UnitOfWork
from portal.store.tables import Job, Letter, Move, Tag
from portal.web.kit.http import clock
from tests.cast import add_staff
from tests.conftest import HOUSE, SEED, build, named, on_server, unit_at
from tests.load import clients, slow
from tests.load.machines import Machine, cpu_seconds, machine
from tests.load.nginx import nginx
from tests.notices.posting import Post, mail_server
from tests.postgres import DURABLE, running_cluster
from tests.sixty import a_floor_of_sixty

CUSTOMERS, SCANNERS, SECONDS = 50, 20, 300
P99_OF_NORMAL_MS = 1000


def main() -> int:
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 and sys.argv[1] else SECONDS
    found: dict[str, Any] = {}
    with ExitStack() as stack:
        folder = Path(stack.enter_context(TemporaryDirectory(prefix="portal-load-")))
        folder.chmod(0o755)
        on_disk = running_cluster(DURABLE, Path(gettempdir()))
        server = stack.enter_context(on_disk)
        url = _filled(server.url)
        post = Post()
        smtp = f"smtp://127.0.0.1:{stack.enter_context(mail_server(post))}"
        unit = unit_at(url, clock)
        stack.callback(unit.close)
        machines = [
            stack.enter_context(machine(folder / f"machine-{n}", url, PORTAL_SMTP=smtp))
            for n in range(2)
        ]
        pids = {"clients": os.getpid(), "database": server.pid}
        pids |= {f"machine {n}": one.process.pid for n, one in enumerate(machines, 1)}
        found["load"] = _load(unit, machines, post, seconds, pids)
        found["slow clients"] = _slow(unit, machines[0], folder)
    (HOUSE / "build").mkdir(exist_ok=True)
    (HOUSE / "build" / "load.json").write_text(json.dumps(found, indent=2) + "\n", "utf-8")
    print(json.dumps(found, indent=2))
    wrong = _wrong(found)
    print("\n".join(wrong) or "nothing went wrong")
    return len(wrong)


def _filled(server: str) -> str:
    """Make the shop with its staff and a floor of sixty jobs."""
    on_server(server, "CREATE DATABASE portal")
    url = named(server, "portal")
    build(url, (SEED / "shop.toml").read_text("utf-8"), (SEED / "powders.csv").read_text("utf-8"))
    unit = unit_at(url, clock)
    add_staff(unit)
    a_floor_of_sixty(unit)
    unit.close()
    return url


def _load(
    unit: UnitOfWork, machines: list[Machine], post: Post, seconds: float, pids: dict[str, int]
) -> dict[str, Any]:
    with unit.read() as session:
        links = [f"/J/{token}" for token in session.scalars(sa.select(Job.token))]
        tags = list(session.scalars(sa.select(Tag.number)))
    before = _count(unit, Job), _count(unit, Move)
    load = clients.Load([one.port for one in machines], links)
    began, used = time.monotonic(), _cpu_of(pids)
    clients.run(load, CUSTOMERS, SCANNERS, tags, seconds)
    took = time.monotonic() - began
    used = {name: round(now - used[name], 1) for name, now in _cpu_of(pids).items()}
    _until_sent(unit)
    return {
        "seconds": round(took, 1),
        "per_second": round(sum(len(one.times) for one in load.figures.values()) / took, 1),
        "steps_too_late": load.late,
        "cpu_seconds": used | {"there were": round(took * len(os.sched_getaffinity(0)), 1)},
        "answers": {what: one.told() for what, one in load.figures.items()},
        "booked": len(load.booked),
        "jobs_more": _count(unit, Job) - before[0],
        "events_more": _count(unit, Move) - before[1],
        "letters_sent": len(post.got),
        "letters_twice": len(post.got) - len({one["Message-ID"] for one in post.got}),
        "memory_mb": [round(one.memory_mb()) for one in machines],
    }


def _cpu_of(pids: dict[str, int]) -> dict[str, float]:
    """Return the processor seconds of each: the clients alone, the others with all they began."""
    times = os.times()
    used = {name: cpu_seconds(pid) for name, pid in pids.items() if pid != os.getpid()}
    return used | {"clients": times.user + times.system}


def _count(unit: UnitOfWork, table: Any) -> int:
    with unit.read() as session:
        return session.scalar(sa.select(sa.func.count()).select_from(table)) or 0


def _until_sent(unit: UnitOfWork) -> None:
    waits = sa.select(Letter.id).where(Letter.state.in_(("queued", "sending")))
    for _ in range(600):
        with unit.read() as session:
            if session.scalar(waits.limit(1)) is None:
                return
        time.sleep(0.2)


def _slow(unit: UnitOfWork, one: Machine, folder: Path) -> dict[str, Any]:
    with unit.read() as session:
        links = [f"/J/{token}" for token in session.scalars(sa.select(Job.token))]
    found = {}
    with nginx(folder, one.port) as (port, trusting):
        for name, line in (
            ("without a proxy", slow.Line(one.port)),
            ("behind nginx", slow.Line(port, trusting)),
        ):
            with slow.slow_crowd(line) as crowd:
                time.sleep(3)
                figures = slow.normal_visitors(line, lambda n: links[n % len(links)])
                found[name] = figures.told() | {"slow_let_go": crowd.again}
    return found


def _wrong(found: dict[str, Any]) -> list[str]:
    load = found["load"]
    wrong = [f"{what}: {one['wrong']}" for what, one in load["answers"].items() if one["wrong"]]
    if load["booked"] != load["jobs_more"]:
        wrong.append(f"{load['booked']} bookings were acknowledged, {load['jobs_more']} are there")
    if load["letters_twice"]:
        wrong.append(f"{load['letters_twice']} letters came twice")
    for name, one in found["slow clients"].items():
        if one["wrong"] or one["p99_ms"] > P99_OF_NORMAL_MS:
            wrong.append(f"slow clients, {name}: {one}")
    return wrong


if __name__ == "__main__":
    passwords._hasher = passwords.PasswordHasher(time_cost=1, memory_cost=64)
    sys.exit(main())
