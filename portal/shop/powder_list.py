"""The shop's powders as a CSV file; errors name the line."""

import csv
import io
import math

from portal.craft.fields import refuse, word
from portal.craft.messages import Message
from portal.craft.parts import Effect, Powder

COLUMNS = (
    *("code", "name", "ral", "l", "a", "b", "gloss_gu", "effect", "density", "film_low_um"),
    *("film_high_um", "cure_c", "cure_min", "stock_kg", "box_kg", "lead_days"),
)


def read_powders(text: str) -> dict[str, Powder]:
    """Return the powders by code; raise CraftError naming line and column."""
    rows = csv.DictReader(io.StringIO(text))
    missing = [name for name in COLUMNS if name not in (rows.fieldnames or ())]
    if missing:
        raise refuse(Message("The column “{name}” is missing.", name=missing[0]), "line 1")
    found: dict[str, Powder] = {}
    for row in rows:
        at = f"line {rows.line_num}"
        powder = _powder(row, at)
        if powder.code in found:
            raise refuse(Message("This code is in the list twice."), f"{at}, code")
        found[powder.code] = powder
    return found


def _powder(row: dict[str, str], at: str) -> Powder:
    def number(name: str, low: float, high: float) -> float:
        try:
            value = float(row[name])
        except (TypeError, ValueError):
            value = math.nan
        if not low <= value <= high:
            raise refuse(
                Message("Enter a number from {low} to {high}.", low=low, high=high),
                f"{at}, {name}",
            )
        return value

    code = (row["code"] or "").strip()
    if not 0 < len(code) <= 16 or not code.isascii():
        raise refuse(
            Message("Use 1 to 16 letters, digits or dashes for a powder's code."), f"{at}, code"
        )
    film = (int(number("film_low_um", 10, 400)), int(number("film_high_um", 10, 400)))
    if film[0] > film[1]:
        raise refuse(
            Message("The lowest film thickness must come before the highest."), f"{at}, film_low_um"
        )
    return Powder(
        code=code,
        name=(row["name"] or "").strip()[:80] or code,
        lab=(number("l", 0, 100), number("a", -130, 130), number("b", -130, 130)),
        gloss_gu=int(number("gloss_gu", 0, 100)),
        effect=word(row["effect"], Effect, f"{at}, effect"),
        ral=(row["ral"] or "").strip()[:8],
        density=number("density", 0.8, 3),
        film_um=film,
        cure=(int(number("cure_c", 100, 260)), int(number("cure_min", 1, 120))),
        stock_kg=number("stock_kg", 0, 100_000),
        box_kg=number("box_kg", 0.1, 1_000),
        lead_days=int(number("lead_days", 0, 200)),
    )
