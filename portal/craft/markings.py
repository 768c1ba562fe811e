"""Markings of rims and tyres, read, written, and set against each other.

The readers live in `craft.rims` and `craft.tyres`; this is the door through which others enter.
"""

from dataclasses import dataclass

from portal.craft.marks import number
from portal.craft.parts import Rim, Tyre
from portal.craft.rim_sizes import bead_seat_mm, is_code, usual_width
from portal.craft.rims import ReadRim, read_rim, write_rim
from portal.craft.say import Said, say
from portal.craft.tables import toml_table
from portal.craft.tyres import (
    ReadTyre,
    load_kg,
    read_tyre,
    speed_kmh,
    tyre_diameter_mm,
    write_tyre,
)

__all__ = [
    "FitAnswer",
    "ReadRim",
    "ReadTyre",
    "bead_seat_mm",
    "is_code",
    "load_kg",
    "measuring_rim",
    "read_rim",
    "read_tyre",
    "rim_from_tyre",
    "speed_kmh",
    "tyre_diameter_mm",
    "tyre_on_rim",
    "usual_width",
    "write_rim",
    "write_tyre",
]


@dataclass(frozen=True, slots=True)
class FitAnswer:
    """Whether a tyre belongs on a rim: yes, no, or (None) a question for the tyre's maker."""

    belongs: bool | None
    says: Said


def measuring_rim(tyre: Tyre) -> tuple[float, float, float]:
    """Return (measuring, narrowest, widest) rim width in inches for a tyre.

    The ratios reproduce published measuring rims; the range around them is a typist's check, not a
    fitter's table (see data/tyres.toml).
    """
    table = toml_table("tyres.toml")
    if tyre.width_in is not None:
        band, section = table["flotation"], tyre.width_in
    else:
        band = next(b for b in table["measuring_rim"] if (tyre.aspect or 0) >= b["from_aspect"])
        section = (tyre.width_mm or 0) / 25.4
    ideal = int(section * band["ratio"] * 2 + 0.5) / 2
    return (ideal, ideal - band["down"], ideal + band["up"])


def tyre_on_rim(tyre: Tyre, rim: Rim) -> FitAnswer:
    """Tell whether this tyre belongs on a rim of this diameter and width."""
    if tyre.rim_code != rim.diameter_code:
        said = say(
            "The tyre is for a {tyre}-inch rim, but the rim is {rim} inches. Check both.",
            tyre=number(tyre.rim_code),
            rim=number(rim.diameter_code),
        )
        return FitAnswer(belongs=False, says=said)
    _, narrow, wide = measuring_rim(tyre)
    width = rim.width_code
    figures = {"width": number(width), "low": number(narrow), "high": number(wide)}
    if narrow <= width <= wide:
        said = say("This tyre usually goes on rims {low} to {high} inches wide.", **figures)
        return FitAnswer(belongs=True, says=said)
    if narrow - 0.5 <= width <= wide + 0.5:
        said = say(
            "A {width}-inch rim is just outside the usual {low} to {high} inches for this "
            "tyre. Check the tyre maker's table.",
            **figures,
        )
        return FitAnswer(belongs=None, says=said)
    said = say(
        "This tyre fits rims {low} to {high} inches wide, not {width}. Check both markings.",
        **figures,
    )
    return FitAnswer(belongs=False, says=said)


def rim_from_tyre(tyre: Tyre) -> Rim:
    """Return the rim that a tyre is measured on: its diameter, and an assumed width."""
    return Rim(diameter_code=tyre.rim_code, width_code=measuring_rim(tyre)[0])
