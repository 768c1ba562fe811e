"""Width and diameter within a rim marking: which two of its numbers they are."""

import re

from portal.craft.rim_checks import is_width
from portal.craft.rim_grammar import LABEL, SIZE
from portal.craft.rim_sizes import is_code
from portal.craft.tables import toml_table

_WM_WIDTHS: dict[str, float] = toml_table("rims.toml")["wm_widths"]
_LEAST_SHARE = 0.3  # of a rim's diameter: a narrower one is read only from a written size
# the number that follows is the label's own: ET 18
_LABEL_BEFORE = re.compile(rf"(?<!\d)(?<!\d\s)(?:{LABEL.pattern})\s*[.:=]?\s*[+-]?$")


def best_size(text: str) -> re.Match[str] | None:
    """Return where width and diameter stand.

    A flange or an × says that two numbers are a size; without them they must fit each other.
    """
    found: list[tuple[bool, bool, bool, float, re.Match[str]]] = []
    for start in range(len(text)):
        match = SIZE.match(text, start)
        if not match:
            continue
        times, written = "X" in match["gap"], is_written(match)
        if not times and _LABEL_BEFORE.search(text[:start]):
            continue
        width, diameter = width_and_diameter(match)
        fits = is_code(diameter) and is_width(width, diameter)
        # "18 4" may be four wheels of 18 inches
        fits = fits and (written or bool(match["gap"].strip()) or width >= diameter * _LEAST_SHARE)
        if fits or written:
            found.append((fits, times, written, diameter, match))
    return max(found, key=lambda one: one[:4])[4] if found else None


def flange_of(match: re.Match[str]) -> str | None:
    return match["pa"] or match["fa"] or match["pb"] or match["fb"]


def width_and_diameter(match: re.Match[str]) -> tuple[float, float]:
    first, second = float(match["a"]), float(match["b"])
    if match["pa"] or match["fa"]:
        return (_motorcycle_width(match["pa"], match["a"]), second)
    if match["pb"] or (match["fb"] and second < first):
        return (_motorcycle_width(match["pb"], match["b"]), first)
    return (min(first, second), max(first, second))


def _motorcycle_width(letters: str | None, text: str) -> float:
    """Return the width in inches: WM2 is 1.85 inches, MT2.50 is what it says."""
    return float(_WM_WIDTHS.get(text, text) if letters == "WM" else text)


def is_written(match: re.Match[str]) -> bool:
    """Return whether a flange or an × says that two numbers are a size."""
    return bool(flange_of(match)) or "X" in match["gap"]


def starts_size(text: str) -> int | None:
    """Return where width and diameter of a rim begin in a plain text, None without them."""
    match = best_size(text)
    return match.start() if match and is_written(match) else None
