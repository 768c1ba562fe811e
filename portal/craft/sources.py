"""The sources of the figures, by subject.

Rows with a `source` of their own are listed as they stand in their tables; the source of a whole
table or of a computed figure is in `data/sources.toml`. "General practice in the trade" marks a
rule of thumb.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from itertools import groupby
from typing import Any

from portal.craft.answers import COMMON_PRACTICE
from portal.craft.check_kinds import CheckKind
from portal.craft.facts import sentence_of
from portal.craft.messages import Message
from portal.craft.parts import BareZone, Item
from portal.craft.place import rules
from portal.craft.tables import sentence, toml_table


@dataclass(frozen=True, slots=True)
class Sourced:
    """A figure or a rule, where it comes from, and what it can and can't tell."""

    what: Message | StrEnum
    source: Message
    says: Message | None = None


@dataclass(frozen=True, slots=True)
class Subject:
    """Sources of one subject, in the order of the tables."""

    title: Message
    rows: tuple[Sourced, ...]


def subjects(country: str) -> tuple[Subject, ...]:
    """Return every source by subject; of the rules of places those of `country` (ISO 3166)."""
    found = [
        Subject(Message("What must come off"), tuple(_removals())),
        Subject(Message("What stays bare"), tuple(_zones())),
        Subject(Message("What we refuse, check and warn of"), tuple(_cautions())),
        Subject(Message("What we test before we go on"), tuple(_checks())),
        Subject(Message("What we never do to a part"), tuple(_nevers())),
        Subject(Message("Fitting your parts"), tuple(_steps())),
        Subject(Message("Looking after a coating"), tuple(_care())),
        Subject(
            Message("Rules of this country"),
            tuple(Sourced(rule.says, rule.source) for rule in rules(country)),
        ),
    ]
    return (*_figures(), *(one for one in found if one.rows))


def _figures() -> Iterator[Subject]:
    rows = toml_table("sources.toml")["source"]
    for title, own in groupby(rows, key=lambda row: row["title"]):
        yield Subject(
            Message(title),
            tuple(
                Sourced(Message(row["figure"]), Message(row["name"]), sentence_of(row, "says"))
                for row in own
            ),
        )


def _source(row: Mapping[str, Any]) -> Message:
    return Message(row["source"]) if "source" in row else COMMON_PRACTICE


def _removals() -> Iterator[Sourced]:
    return (Sourced(Item(r["item"]), _source(r)) for r in toml_table("removals.toml")["item"])


def _zones() -> Iterator[Sourced]:
    """Return one row a zone; zones whose rows name several sources have a row for each."""
    rows = toml_table("fits.toml")["zone"]
    return _once(Sourced(BareZone(row["zone"]), _source(row)) for row in rows)


def _cautions() -> Iterator[Sourced]:
    table = toml_table("cautions.toml")
    return (Sourced(Message(r["says"]), _source(r)) for r in (*table["caution"], *table["order"]))


def _checks() -> Iterator[Sourced]:
    return (Sourced(CheckKind(r["key"]), _source(r)) for r in toml_table("checks.toml")["check"])


def _nevers() -> Iterator[Sourced]:
    """Return one row a sentence; several things may be forbidden by the same one."""
    rows = toml_table("never.toml")["never"]
    return _once(Sourced(sentence(row["says"]), _source(row)) for row in rows)


def _care() -> Iterator[Sourced]:
    table = toml_table("care.toml")
    yield Sourced(Message(table["washing"]["title"]), _source(table["washing"]))
    yield Sourced(Message(table["outdoors"]["says"]), _source(table["outdoors"]))
    yield from (Sourced(Message(row["care"]), _source(row)) for row in table["use"])


def _steps() -> Iterator[Sourced]:
    return (Sourced(Message(r["title"]), _source(r)) for r in toml_table("refit.toml")["step"])


def _once(rows: Iterable[Sourced]) -> Iterator[Sourced]:
    return iter(dict.fromkeys(rows))
