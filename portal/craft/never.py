"""What must never be done to a part, by its metal, kind and damage, and where that is told."""

from collections.abc import Iterable, Mapping
from typing import Any

from portal.craft.facts import facts_of, holds
from portal.craft.messages import Message
from portal.craft.parts import PartSet, Titled
from portal.craft.tables import sentence, toml_table


class Never(Titled):
    """A thing that must not be done to a part. The title follows the word "Never:"."""

    BURN_OFF = "burn_off", "Burn-off oven"
    ACID = "acid", "Acid"
    CAUSTIC = "caustic", "Caustic (strong alkali)"
    MAKER_HEAT = "maker_heat", "Heat without the maker's permission"
    STEEL_GRIT = "steel_grit", "Steel grit"
    COARSE_GRIT = "coarse_grit", "Coarse grit"
    THROUGH_ZINC = "through_zinc", "Blasting through the zinc"
    GRIT_ALONE = "grit_alone", "Sand or grit alone"
    GRIT_INSIDE = "grit_inside", "Grit in bores and fluid channels"
    DRY_DUST = "dry_dust", "Blowing off or dry brushing of brake dust"
    FILLER = "filler", "Filler or welding"
    STRAIGHTEN = "straighten", "Hammering, heating or straightening"
    LEAD_DUST = "lead_dust", "Sanding, dry blasting or heat while the old finish is on"
    AT_HOME = "at_home", "Sanding, scraping or heating it at home"


_ROWS: tuple[Mapping[str, Any], ...] = tuple(toml_table("never.toml")["never"])
_AT: Mapping[Never, frozenset[str]] = {
    Never(word): frozenset(stations) for word, stations in toml_table("never.toml")["at"].items()
}


def nevers(part_set: PartSet, *, before_1980: bool = False) -> tuple[Never, ...]:
    """Return what must never be done to the parts of a set, each once."""
    found = {Never(row["never"]) for row in _rows(part_set, before_1980=before_1980)}
    return tuple(one for one in Never if one in found)


def forbids(part_set: PartSet, *, before_1980: bool = False) -> tuple[Message, ...]:
    """Return the same as sentences, with the reason; each once."""
    rows = _rows(part_set, before_1980=before_1980)
    return tuple(sentence(says) for says in dict.fromkeys(row["says"] for row in rows))


def told_at(station: str, of_part: Iterable[Never]) -> tuple[Never, ...]:
    """Return which of these are told at a station, named by its stored word."""
    return tuple(one for one in of_part if station in _AT[one])


def _rows(part_set: PartSet, *, before_1980: bool) -> list[Mapping[str, Any]]:
    facts = {
        **facts_of(part_set),
        "order": frozenset({"before_1980"} if before_1980 else ()),
    }
    return [row for row in _ROWS if holds(row["when"], facts)]
