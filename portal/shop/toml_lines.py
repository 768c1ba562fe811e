"""The line numbers of keys in a TOML file: the parser keeps none."""

import re

_KEY = r"(?:[A-Za-z0-9_-]+|\"[^\"\n]*\"|'[^'\n]*')"
_DOTTED = rf"{_KEY}(?:\s*\.\s*{_KEY})*"
_TABLE = re.compile(rf"^\s*\[\s*({_DOTTED})\s*\]\s*(?:#.*)?$")
_ARRAY = re.compile(rf"^\s*\[\[\s*({_DOTTED})\s*\]\]\s*(?:#.*)?$")
_PAIR = re.compile(rf"^\s*({_DOTTED})\s*=")
_STEP = re.compile(r"[^.\[\]]+|\[\d+\]")


def line_of(text: str, path: str) -> int | None:
    """Return the line, from 1, of the key at `path` (`sets[0].finish.colour`).

    Where the key itself is missing, or is inside an inline table, return the line of the nearest
    table or key around it; None where nothing on the way exists.
    """
    wanted = tuple(_STEP.findall(path))
    best: tuple[int, int] | None = None
    for number, here in _places(text):
        shared = len(here)
        if here == wanted[:shared] and shared and (best is None or shared > best[0]):
            best = (shared, number)
    return best[1] if best else None


def _places(text: str) -> list[tuple[int, tuple[str, ...]]]:
    """Return (line, whole path) of every table header and every key at the start of a line."""
    found: list[tuple[int, tuple[str, ...]]] = []
    counts: dict[tuple[str, ...], int] = {}
    prefix: tuple[str, ...] = ()
    quote = ""
    for number, line in enumerate(text.splitlines(), start=1):
        inside, quote = quote, _open_quote(line, quote)
        if inside:
            continue
        if array := _ARRAY.match(line):
            name = _indexed(_names(array[1]), counts)
            counts[name] = counts.get(name, -1) + 1
            prefix = (*name, f"[{counts[name]}]")
        elif table := _TABLE.match(line):
            prefix = _indexed(_names(table[1]), counts)
        elif pair := _PAIR.match(line):
            found.append((number, prefix + _names(pair[1])))
            continue
        else:
            continue
        found.append((number, prefix))
    return found


def _names(dotted: str) -> tuple[str, ...]:
    return tuple(one.strip("\"'") for one in re.findall(_KEY, dotted))


def _indexed(names: tuple[str, ...], counts: dict[tuple[str, ...], int]) -> tuple[str, ...]:
    """Add the index of the latest entry to each name on the way that is an array of tables."""
    path: tuple[str, ...] = ()
    for name in names[:-1]:
        path = (*path, name)
        if path in counts:
            path = (*path, f"[{counts[path]}]")
    return (*path, names[-1])


def _open_quote(line: str, quote: str) -> str:
    """Return which kind of multi-line text is still open at the end of `line`."""
    for mark in re.findall(r"\"\"\"|'''", line):
        if not quote:
            quote = mark
        elif quote == mark:
            quote = ""
    return quote
