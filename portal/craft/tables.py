"""The trade's tables: small TOML and CSV files beside the code, read once and cached."""

import csv
import io
import tomllib
from functools import cache
from importlib import resources
from string import Formatter
from typing import Any

from portal.craft.messages import Message
from portal.craft.quantities import Quantity, Unit


def _text(name: str) -> str:
    return resources.files("portal.craft").joinpath("data", name).read_text(encoding="utf-8")


@cache
def toml_table(name: str) -> dict[str, Any]:
    """Return the table `data/<name>` as nested dictionaries; callers must not change it."""
    return tomllib.loads(_text(name))


@cache
def csv_table(name: str) -> tuple[dict[str, str], ...]:
    """Return the rows of `data/<name>`; lines that begin with # name the source."""
    lines = [line for line in _text(name).splitlines() if not line.startswith("#")]
    return tuple(csv.DictReader(io.StringIO("\n".join(lines))))


def sentence(text: str, **values: Any) -> Message:
    """Return a sentence of a table, with the measures that it names from `data/measures.toml`.

    `values` are what else it names.
    """
    named = [name for _, name, _, _ in Formatter().parse(text) if name and name not in values]
    measures = {name: _measure(toml_table("measures.toml")[name]) for name in named}
    return Message(text, **measures, **values)


def _measure(row: dict[str, Any]) -> Quantity:
    return Quantity(row["value"], Unit(row["unit"]))
