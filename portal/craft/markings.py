"""Markings of rims and tyres: parsed, formatted, and compared.

The parsers are in `craft.rims` and `craft.tyres`; other modules import this one.
"""

import re
from dataclasses import dataclass, replace

from portal.craft.marks import figure, plain
from portal.craft.messages import Message
from portal.craft.parts import PartSet, Rim, Tyre
from portal.craft.rim_dimensions import starts_size
from portal.craft.rim_sizes import bead_seat_mm, is_code, is_taper_15, usual_width, write_rim
from portal.craft.rims import ReadRim, read_rim
from portal.craft.tyre_forms import SIGN
from portal.craft.tyre_ratings import load_kg, speed_kmh
from portal.craft.tyre_sizes import measuring_rim, tyre_diameter_mm
from portal.craft.tyres import ReadTyre, read_tyre, write_tyre

__all__ = [
    "FitAnswer",
    "ReadRim",
    "ReadSize",
    "ReadTyre",
    "bead_seat_mm",
    "is_code",
    "load_kg",
    "marking_of",
    "measuring_rim",
    "questions_of",
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


# a rim and a tyre told together stand apart like this
_APART = re.compile(r"[;|·\n]|,\s|\s/\s(?=\d{3}\s*/)|\s+(?:and|und|y|on|auf|con)\s+", re.IGNORECASE)
# a word before a marking says what it is
_WORD = re.compile(
    r"(?:(?P<tyre>tyres?|tires?|reifen|neum[áa]ticos?)|(?:rims?|felgen?|llantas?))(?![a-z])\s*:?",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class ReadSize:
    """The result of parsing a wheel's size: its rim, its tyre or both, or what is wrong."""

    rim: ReadRim | None = None
    tyre: ReadTyre | None = None
    rim_text: str = ""
    tyre_text: str = ""

    @property
    def unsure(self) -> tuple[Message, ...]:
        """What has to be asked: it can be meant in two ways, and stays open."""
        return self.rim.unsure if self.rim else ()

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

    Never raise. A rim and a tyre may be on one line.
    """
    rims: list[str] = []
    tyres: list[str] = []
    for piece in _APART.split(text):
        for kind, part in _parted(piece.strip()):
            (tyres if kind == "tyre" else rims).append(part)
    rim_text, tyre_text = ", ".join(rims), ", ".join(tyres)
    rim = read_rim(rim_text) if rim_text else None
    tyre = read_tyre(tyre_text) if tyre_text else None
    if rim and not rim.rim and not rim.impossible:
        # 225 45 17, as some say it; or what stands behind a comma belongs to the tyre
        together = ", ".join((*tyres, *rims))
        loose = read_tyre(together)
        if loose.tyre:
            return ReadSize(tyre=loose, tyre_text=together)
    if tyre and tyre.tyre and not rim and (old := _old_size(tyre_text)):
        tyre = replace(tyre, assumed=(*tyre.assumed, _or_a_rim(old)))
    return ReadSize(rim, tyre, rim_text, tyre_text)


def _parted(piece: str) -> list[tuple[str, str]]:
    """Return what a piece of a line is, rim or tyre; both where they stand side by side."""
    word = _WORD.match(piece)
    if word:
        return [("tyre" if word["tyre"] else "rim", piece[word.end() :].strip())]
    text = plain(piece)
    sign = SIGN.search(text)
    if not sign:
        return [("rim", piece)] if piece else []
    before, behind = text[: sign.start()], text[sign.end() :]
    if starts_size(before) is not None:
        return [("rim", before.strip()), ("tyre", text[sign.start() :].strip())]
    if (start := starts_size(behind)) is not None:
        cut = sign.end() + start
        return [("tyre", text[:cut].strip()), ("rim", text[cut:].strip())]
    return [("tyre", piece)]


def _old_size(text: str) -> str | None:
    """Return a size such as 6.50-16, which a rim might bear too."""
    found = SIGN.search(plain(text))
    return found["old"] if found else None


def _or_a_rim(old: str) -> Message:
    return Message(
        "We read {size} as a tyre size. If it is the rim, write {rim}.",
        size=old,
        rim=" x ".join(part.strip() for part in old.split("-")),
    )


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


def marking_of(part_set: PartSet) -> str:
    """Return what a set's markings were read as, in the normal form; empty without one."""
    # a rim that was derived from the tyre was never read
    rim = part_set.rim if part_set.rim_text or not part_set.tyre else None
    written = (rim and write_rim(rim), part_set.tyre and write_tyre(part_set.tyre))
    return ", ".join(one for one in written if one)


def questions_of(part_set: PartSet) -> tuple[Message, ...]:
    """Return what is still unsure of a set's rim marking, as long as its rim is as it was read."""
    read = read_rim(part_set.rim_text)
    return read.unsure if read.rim == part_set.rim else ()


def rim_from_tyre(tyre: Tyre) -> Rim:
    """Return the rim that a tyre is measured on: its diameter, and an assumed width."""
    flange = "" if is_taper_15(tyre.rim_code) else "J"
    return Rim(diameter_code=tyre.rim_code, width_code=measuring_rim(tyre)[0], flange=flange)
