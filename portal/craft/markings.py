"""Markings of rims and tyres: parsed, formatted, and compared.

The parsers are in `craft.rims` and `craft.tyres`; other modules import this one.
"""

import re
from dataclasses import dataclass

from portal.craft.marks import figure, plain
from portal.craft.messages import Message
from portal.craft.parts import Rim, Tyre
from portal.craft.rim_sizes import bead_seat_mm, is_code, usual_width
from portal.craft.rims import ReadRim, read_rim, write_rim
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
    "ReadSize",
    "ReadTyre",
    "bead_seat_mm",
    "is_code",
    "load_kg",
    "measuring_rim",
    "read_rim",
    "read_size",
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
    """Whether a tyre fits a rim: yes, no, or (None) ask the tyre's maker."""

    belongs: bool | None
    says: Message


# what only a tyre has: 225/45 R17, 165 R13, 33x12.5 R15; not the 112/66 of a bolt circle and bore
_TYRE = re.compile(
    r"(?<![\w.])(?:P|LT|ST|T|C)? ?"
    r"(?:\d{3} ?/ ?\d{2} ?(?:Z?RF?|[BD-]|/)? ?F? ?\d{2}(?:\.5)?(?![\d.])"
    r"|\d{3} ?[A-Z]?Z?R ?\d{2}(?![\d.])|\d{2}(?:\.\d+)? ?X ?\d{1,2}(?:\.\d+)? ?(?:LT)?Z?R ?\d{2})"
)
# a rim and a tyre told together stand apart like this
_APART = re.compile(r"[;|·\n]|,\s|\s/\s(?=\d{3}\s*/)|\s+(?:and|und|y|on|auf|con)\s+", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class ReadSize:
    """The result of parsing a wheel's size: its rim, its tyre or both, or what is wrong."""

    rim: ReadRim | None = None
    tyre: ReadTyre | None = None
    rim_text: str = ""
    tyre_text: str = ""

    @property
    def wrong(self) -> tuple[Message, ...]:
        """What is impossible, or where to look when nothing could be read; empty when valid."""
        found = [one for read in (self.rim, self.tyre) if read for one in read.impossible]
        if found:
            return tuple(found)
        unread = [r for r in (self.rim and not self.rim.rim, self.tyre and not self.tyre.tyre) if r]
        return (_WHERE_SIZE,) if unread or not (self.rim or self.tyre) else ()


_WHERE_SIZE = Message(
    "We can't read this size. Write it like 8J x 18 ET35 (rim), 225/45 R17 (tyre) or 18 (inches)."
)


def read_size(text: str) -> ReadSize:
    """Parse any size that a person can see on a wheel: rim marking, tyre size or inches.

    Never raise. A rim and a tyre may be on one line, with a comma or the like between them.
    """
    rims: list[str] = []
    tyres: list[str] = []
    for piece in _APART.split(text):
        if piece.strip():
            (tyres if _TYRE.search(plain(piece)) else rims).append(piece.strip())
    rim_text, tyre_text = ", ".join(rims), ", ".join(tyres)
    rim = read_rim(rim_text) if rim_text else None
    tyre = read_tyre(tyre_text) if tyre_text else None
    if rim and not rim.rim and not tyre:
        # 225 45 17, as some say it
        loose = read_tyre(rim_text)
        if loose.tyre:
            return ReadSize(tyre=loose, tyre_text=rim_text)
    return ReadSize(rim, tyre, rim_text, tyre_text)


def measuring_rim(tyre: Tyre) -> tuple[float, float, float]:
    """Return (measuring, narrowest, widest) rim width in inches for a tyre.

    The ratios reproduce published measuring rims; the range around them catches typing errors and
    is no fitter's table (see data/tyres.toml).
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
    """Return whether this tyre fits a rim of this diameter and width."""
    if tyre.rim_code != rim.diameter_code:
        said = Message(
            "The tyre is for a {tyre}-inch rim, but the rim is {rim} inches. Check both.",
            tyre=figure(tyre.rim_code),
            rim=figure(rim.diameter_code),
        )
        return FitAnswer(belongs=False, says=said)
    _, narrow, wide = measuring_rim(tyre)
    width = rim.width_code
    figures = {"width": figure(width), "low": figure(narrow), "high": figure(wide)}
    if narrow <= width <= wide:
        said = Message("This tyre usually goes on rims {low} to {high} inches wide.", **figures)
        return FitAnswer(belongs=True, says=said)
    if narrow - 0.5 <= width <= wide + 0.5:
        said = Message(
            "A {width}-inch rim is just outside the usual {low} to {high} inches for this "
            "tyre. Check the tyre maker's table.",
            **figures,
        )
        return FitAnswer(belongs=None, says=said)
    said = Message(
        "This tyre fits rims {low} to {high} inches wide, not {width}. Check both markings.",
        **figures,
    )
    return FitAnswer(belongs=False, says=said)


def rim_from_tyre(tyre: Tyre) -> Rim:
    """Return the rim that a tyre is measured on: its diameter, and an assumed width."""
    return Rim(diameter_code=tyre.rim_code, width_code=measuring_rim(tyre)[0])
