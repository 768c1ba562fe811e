"""Every source that a table names is told on the page of sources."""

import tomllib
from collections.abc import Iterator
from importlib import resources

import pytest

from portal.craft.answers import COMMON_PRACTICE
from portal.craft.place import places
from portal.craft.sources import subjects
from tests.readers import english

TABLES = sorted(
    one.name
    for one in resources.files("portal.craft").joinpath("data").iterdir()
    if one.name.endswith(".toml")
)


def named(value: object) -> Iterator[str]:
    """Yield every `source` of a table, wherever it stands."""
    if isinstance(value, dict):
        if "source" in value and isinstance(value["source"], str):
            yield value["source"]
        for inner in value.values():
            yield from named(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from named(inner)


def told() -> set[str]:
    """Return every source that is told, whatever the country."""
    return {
        english(row.source) for where in places() for one in subjects(where) for row in one.rows
    }


@pytest.mark.parametrize("name", TABLES)
def test_every_source_of_a_table_is_told(name: str) -> None:
    text = resources.files("portal.craft").joinpath("data", name).read_text(encoding="utf-8")
    assert set(named(tomllib.loads(text))) - told() == set()


def test_a_rule_of_thumb_is_called_one() -> None:
    rows = [row for one in subjects("GB") for row in one.rows]
    assert all(english(row.source).strip() for row in rows)
    assert any(row.source == COMMON_PRACTICE for row in rows)


def test_only_the_rules_of_the_own_country_are_listed() -> None:
    titles = [english(one.title) for one in subjects("XX")]
    assert "Rules of this country" not in titles
    assert len(titles) == len(set(titles))


# the reckoning of heat has no validation from outside; the tests it stands on have two halves
def test_what_the_heat_figures_can_tell_stands_beside_their_source() -> None:
    (heat,) = (one for one in subjects("GB") if english(one.title) == "Heat")
    told = " ".join(english(row.says) for row in heat.rows if row.says)
    for words in ("5 % of the hardness", "up to 90 % of their life", "Nobody has tested it"):
        assert words in told
