"""The list of faults that no test can catch: each row names a function that is still there."""

import tomllib
from importlib import import_module

import pytest

from tests.mutants import KNOWN, Mutant

ROWS = tomllib.loads(KNOWN.read_text("utf-8")).get("survivor", [])


def test_every_known_survivor_names_a_function_and_a_reason() -> None:
    for row in ROWS:
        module, _, name = row["where"].rpartition(".x")
        owner = import_module(module)
        for part in name.strip("ǁ_").split("ǁ"):
            owner = getattr(owner, part, None) or getattr(owner, f"_{part}")
        assert row["line"].strip() == row["line"]
        assert row["reason"].endswith(".")


@pytest.mark.parametrize("row", ROWS, ids=[row["where"] for row in ROWS])
def test_a_known_survivor_is_recognised_by_its_line_alone(row) -> None:
    assert Mutant(row["where"], row["line"], caught="").known == row["reason"]
    assert not Mutant(row["where"], row["line"] + " ", caught="").known
