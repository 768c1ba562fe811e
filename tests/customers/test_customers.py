"""Customers walk all the way; every kind, way, coat system and language is among them.

Six walk in a quick run, chosen so that every way, language and door, wheels and five other kinds
are among them, and two hundred in a deep one: a few in each test, so that all processes of a run
share in them. What became of them is recorded for the tests that look at all of them.
"""

import fcntl
import json
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest

from portal.craft.parts import Bringing, PartKind, System
from tests.customers.house import House
from tests.customers.one import Walked, walk
from tests.customers.over_the_counter import CALLER, WALK_IN
from tests.customers.tongues import languages
from tests.deep import DEEP

CHOSEN = (11, 16, 21, 26, 42, 52)
# what none of them brings or wants: a deep run's customers do
NOT_CHOSEN = () if DEEP else ("bench", "box", "frame", "plate", "railing", "tube", "translucent")
SEEDS = tuple(range(1, 201)) if DEEP else CHOSEN
TOGETHER = 5 if DEEP else 2
GROUPS = [SEEDS[at : at + TOGETHER] for at in range(0, len(SEEDS), TOGETHER)]
Group = Callable[[tuple[int, ...]], list[Walked]]


@pytest.fixture
def group(open_house: House, tmp_path_factory: pytest.TempPathFactory, testrun_uid: str) -> Group:
    """What became of a group of customers: they walk once a run, where it is first asked."""
    kept = tmp_path_factory.getbasetemp()
    if kept.name.startswith("popen"):  # one of several processes
        kept = kept.parent

    def walked(seeds: tuple[int, ...]) -> list[Walked]:
        path = kept / f"customers-{testrun_uid}-{seeds[0]}.json"
        with path.open("a+", encoding="utf-8") as file:
            fcntl.flock(file, fcntl.LOCK_EX)
            file.seek(0)
            return _read(file.read()) or _write(path, _walk(open_house, seeds))

    return walked


def _walk(here: House, seeds: tuple[int, ...]) -> list[Walked]:
    return [walk(here, seed) for seed in seeds]


def _write(path: Path, all_walked: list[Walked]) -> list[Walked]:
    path.write_text(json.dumps([vars(one) for one in all_walked]), encoding="utf-8")
    return all_walked


def _read(text: str) -> list[Walked]:
    rows = json.loads(text or "[]")
    return [
        Walked(row["seed"], Counter(row["met"]), row["fell"], tuple(row["last"])) for row in rows
    ]


@pytest.fixture
def met(group: Group) -> Counter[str]:
    """What all of them met."""
    return sum((one.met for seeds in GROUPS for one in group(seeds)), Counter[str]())


@pytest.mark.parametrize("seeds", GROUPS, ids=str)
def test_customers_get_their_slip_and_their_parts_back(
    group: Group, seeds: tuple[int, ...]
) -> None:
    fallen = [f"make customers N=1 SEED={one.seed}\n{one.fell}" for one in group(seeds) if one.fell]
    assert not fallen, "\n".join(fallen)


@pytest.mark.parametrize(
    ("title", "members"),
    [
        ("kind", [one.value for one in PartKind]),
        ("way", [one.value for one in Bringing]),
        ("system", [one.value for one in System]),
        ("language", list(languages())),
        ("door", [WALK_IN, CALLER]),
    ],
)
def test_every_kind_way_system_and_language_was_among_them(
    met: Counter[str], title: str, members: list[str]
) -> None:
    wanted = [one for one in members if one not in NOT_CHOSEN]
    missing = [one for one in wanted if not met[f"{title}: {one}"]]
    assert not missing, f"nobody booked {missing}: choose other seeds"


@pytest.mark.parametrize("arrival", ["layers", "damage", "missing", "fitted"])
def test_some_arrived_other_than_declared_and_answers_were_yes_and_no(
    met: Counter[str], arrival: str
) -> None:
    assert met[f"arrival: {arrival}"]
    assert met["answer: yes"]
    assert met["answer: no"]


def test_a_seed_alone_repeats_its_customer(open_house: House, group: Group) -> None:
    """Whoever walked before, and in whichever process."""
    *_, among_others = group(GROUPS[0])
    walk(open_house, 6)
    again = walk(open_house, among_others.seed)
    assert again == among_others
    assert again.met
