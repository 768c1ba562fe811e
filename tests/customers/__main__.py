"""`python -m tests.customers N SEED`: N customers walk, in several processes; says who fell.

Customer number i of a run has the seed SEED + i, and a seed alone repeats its customer:
`make customers N=1 SEED=…`. Without SEED a fresh one is drawn. `JOBS` sets the processes (2).
"""

import os
import secrets
import sys
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter

from tests.customers.house import build_model, hash_quickly, house
from tests.customers.one import Walked, walk
from tests.postgres import room

AT_ONCE = 20  # so many customers a process takes before it asks for more
SLOW_EVERY = 100


def some(model: Path, seeds: list[int]) -> list[Walked]:
    """Let some customers walk in this process."""
    hash_quickly()
    with (
        TemporaryDirectory(prefix="customers-", dir=room()) as folder,
        house(model, Path(folder)) as here,
    ):
        return [walk(here, seed) for seed in seeds]


def walk_all(count: int, first: int, processes: int) -> Iterator[Walked]:
    """Yield what became of each of `count` customers, as they get home."""
    seeds = list(range(first, first + count))
    each = max(1, min(AT_ONCE, count // processes or 1))
    pieces = [seeds[at : at + each] for at in range(0, count, each)]
    with TemporaryDirectory(prefix="customers-model-", dir=room()) as folder:
        model = Path(folder) / "model.sqlite3"
        hash_quickly()
        build_model(model)
        with ProcessPoolExecutor(processes) as pool:
            for walked in pool.map(some, [model] * len(pieces), pieces):
                yield from walked


def tell(all_walked: Iterator[Walked], count: int) -> list[Walked]:
    """Print each fall as it comes and the tally at the end; return who fell."""
    met: Counter[str] = Counter()
    fallen: list[Walked] = []
    began = perf_counter()
    for number, walked in enumerate(all_walked, 1):
        met.update(walked.met)
        if walked.fell:
            fallen.append(walked)
            print(f"FELL  make customers N=1 SEED={walked.seed}\n      {walked.fell.strip()}")
            print(f"      after {' · '.join(walked.last)}", flush=True)
        elif number % SLOW_EVERY == 0:
            print(f"  {number} of {count}", flush=True)
    took = perf_counter() - began
    home, pace = count - len(fallen), count / took * 60
    print(f"\n{home} of {count} got home, in {took:.0f} s ({pace:.0f} a minute)")
    for title in sorted({one.partition(":")[0] for one in met}):
        rows = sorted(one for one in met if one.startswith(f"{title}: "))
        print(f"  {title}: " + ", ".join(f"{r.partition(': ')[2]} {met[r]}" for r in rows))
    return fallen


def main() -> int:
    """Walk as many as asked for; 1 where one fell."""
    told = [one for one in sys.argv[1:] if one]
    count = int(told[0]) if told else 2000
    first = int(told[1]) if len(told) > 1 else secrets.randbelow(900_000_000) + 1
    print(f"make customers N={count} SEED={first}", flush=True)
    fallen = tell(walk_all(count, first, int(os.environ.get("JOBS", "2"))), count)
    if fallen:
        print("\nfell: " + " ".join(str(one.seed) for one in fallen))
    return 1 if fallen else 0


if __name__ == "__main__":
    raise SystemExit(main())
