"""Customers walk all the way; every kind, way, coat system and language is among them.

Fifty walk in a quick run, two hundred in a deep one.
"""

from collections import Counter
from pathlib import Path

import pytest

from portal.craft.parts import Bringing, PartKind, System
from tests.customers.house import build_model, house
from tests.customers.one import Walked, walk
from tests.customers.over_the_counter import CALLER, WALK_IN
from tests.customers.tongues import languages
from tests.deep import DEEP

SEEDS = range(1, 201) if DEEP else range(1, 51)


@pytest.fixture(scope="module")
def walked(tmp_path_factory: pytest.TempPathFactory) -> list[Walked]:
    folder = tmp_path_factory.mktemp("customers")
    build_model(folder / "model.sqlite3")
    with house(folder / "model.sqlite3", folder) as here:
        return [walk(here, seed) for seed in SEEDS]


def test_customers_get_their_slip_and_their_parts_back(walked: list[Walked]) -> None:
    fallen = [f"make customers N=1 SEED={one.seed}\n{one.fell}" for one in walked if one.fell]
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
    walked: list[Walked], title: str, members: list[str]
) -> None:
    met = sum((one.met for one in walked), Counter[str]())
    missing = [one for one in members if not met[f"{title}: {one}"]]
    assert not missing, f"nobody booked {missing}: choose other seeds"


@pytest.mark.parametrize("arrival", ["layers", "damage", "missing", "fitted"])
def test_some_arrived_other_than_declared_and_answers_were_yes_and_no(
    walked: list[Walked], arrival: str
) -> None:
    met = sum((one.met for one in walked), Counter[str]())
    assert met[f"arrival: {arrival}"]
    assert met["answer: yes"]
    assert met["answer: no"]


def test_a_seed_alone_repeats_its_customer(tmp_path: Path) -> None:
    build_model(tmp_path / "model.sqlite3")
    with house(tmp_path / "model.sqlite3", tmp_path) as here:
        first = walk(here, 7)
        walk(here, 8)
        again = walk(here, 7)
    assert first == again
    assert first.met
