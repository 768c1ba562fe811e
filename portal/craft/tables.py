"""The trade's tables: small TOML and CSV files beside the code, read once and cached."""

import csv
import io
import tomllib
from functools import cache
from importlib import resources
from typing import Any


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
