"""The shop's powders as a CSV file; errors name the line."""

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, Field

from portal.craft import reading
from portal.craft.messages import CraftError, Message
from portal.craft.parts import Effect, Powder
from portal.craft.schema import Label, Table, entries


def _figure(low: float, high: float) -> Any:
    return Field(ge=low, le=high, allow_inf_nan=False)


def _code(text: str) -> str:
    if not 0 < len(text) <= 16 or not text.isascii():
        raise CraftError(Message("Use 1 to 16 letters, digits or dashes for a powder's code."))
    return text


def _whole(text: Any) -> Any:
    try:
        return int(float(text))
    except (TypeError, ValueError, OverflowError):
        return text


MINUTES = Message("min")
Word = Annotated[str, BeforeValidator(lambda text: (text or "").strip())]
Count = Annotated[int, BeforeValidator(_whole)]


@dataclass(frozen=True, slots=True)
class PowderFigures(Table):
    """A powder as on its data sheet, a line of the file; units as in `Powder`."""

    code: Annotated[Word, AfterValidator(_code), Label(Message("Code"))]
    name: Annotated[Word, Label(Message("Name"))]
    ral: Annotated[Word, Label(Message("RAL number, if it has one"))]
    l: Annotated[float, _figure(0, 100), Label(Message("Colour L*"))]  # noqa: E741  # the column
    a: Annotated[float, _figure(-130, 130), Label(Message("Colour a*"))]
    b: Annotated[float, _figure(-130, 130), Label(Message("Colour b*"))]
    gloss_gu: Annotated[Count, _figure(0, 100), Label(Message("Gloss at 60°"), "GU")]
    effect: Annotated[Effect, Label(Message("Effect"))]
    density: Annotated[float, _figure(0.8, 3), Label(Message("Density"), "g/cm³")]
    film_low_um: Annotated[Count, _figure(10, 400), Label(Message("Film thickness from"), "µm")]
    film_high_um: Annotated[Count, _figure(10, 400), Label(Message("Film thickness to"), "µm")]
    cure_c: Annotated[Count, _figure(100, 260), Label(Message("Bake: metal temperature"), "°C")]
    cure_min: Annotated[
        Count, _figure(1, 120), Label(Message("Bake: time at temperature"), Message("min"))
    ]
    stock_kg: Annotated[float, _figure(0, 100_000), Label(Message("Weight"), "kg")]
    box_kg: Annotated[float, _figure(0.1, 1_000), Label(Message("A box holds"), "kg")]
    lead_days: Annotated[Count, _figure(0, 200), Label(Message("Delivery time, working days"))]

    def powder(self) -> Powder:
        """Return the powder that these figures describe."""
        return Powder(
            code=self.code,
            name=self.name[:80] or self.code,
            lab=(self.l, self.a, self.b),
            gloss_gu=self.gloss_gu,
            effect=self.effect,
            ral=self.ral[:8],
            density=self.density,
            film_um=(self.film_low_um, self.film_high_um),
            cure=(self.cure_c, self.cure_min),
            stock_kg=self.stock_kg,
            box_kg=self.box_kg,
            lead_days=self.lead_days,
        )


COLUMNS = tuple(entries(PowderFigures))


def read_powders(text: str) -> dict[str, Powder]:
    """Return the powders by code; raise CraftError naming line and column."""
    rows = csv.DictReader(io.StringIO(text))
    absent = [name for name in COLUMNS if name not in (rows.fieldnames or ())]
    if absent:
        raise CraftError(Message("The column “{name}” is missing.", name=absent[0]), key="line 1")
    found: dict[str, Powder] = {}
    for row in rows:
        at = f"line {rows.line_num}"
        try:
            powder = read_powder(row)
        except CraftError as wrong:
            raise CraftError(wrong.sentence, key=f"{at}, {wrong.key}") from None
        if powder.code in found:
            raise CraftError(Message("This code is in the list twice."), key=f"{at}, code")
        found[powder.code] = powder
    return found


def read_powder(row: Mapping[str, Any]) -> Powder:
    """Read one powder from texts by column; raise CraftError naming the column."""
    figures = reading.read(PowderFigures, {name: row.get(name) for name in COLUMNS})
    if figures.film_low_um > figures.film_high_um:
        sentence = Message("The lowest film thickness must come before the highest.")
        raise CraftError(sentence, key="film_low_um")
    return figures.powder()
