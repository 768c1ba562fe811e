"""Tyre markings parsed and formatted: ISO 4000-1 / UN R30, the older and light-truck forms.

Also what the markings mean: load in kg, speed in km/h, overall diameter in mm.
"""

import re
from dataclasses import dataclass, replace
from functools import cache

from portal.craft.full_profile import FULL_PROFILE, tabled_mm
from portal.craft.marks import NUMBER, Text, figure, mixed_number, number
from portal.craft.messages import CraftError, Message
from portal.craft.parts import Tyre
from portal.craft.quantities import kg, mm
from portal.craft.rim_sizes import is_code
from portal.craft.tables import csv_table, toml_table

_TYRES = toml_table("tyres.toml")
_LIMITS = _TYRES["limits"]

_START = r"(?<![\w.])"
_END = r"(?![\d.])"
_PREFIX = r"(?:(?P<prefix>P|LT|ST|T|C)\s*)?"
_BUILD = r"(?:(?P<speed>[JKLMNPQSTUHVWY])?(?P<build>ZR|RF|R|D|B|-)\s*F?\s*|\s+|\s*/\s*)"
_SUFFIX = r"(?:\s*(?P<suffix>LT|ST|CP|C|M/C)(?![A-Z]))?"
_METRIC, _LOOSE = (
    re.compile(
        rf"{_START}{_PREFIX}(?P<width>{NUMBER}){between}(?P<aspect>{NUMBER})\s*{_BUILD}"
        rf"(?P<rim>{NUMBER}){_END}{_SUFFIX}"
    )
    for between in (r"\s*/\s*", r"(?:\s*-\s*|\s+)")
)
_FULL = re.compile(
    rf"{_START}{_PREFIX}(?P<width>\d{{3}})\s*(?P<speed>[JKLMNPQSTUHVWY])?(?P<build>ZR|R|-)\s*"
    rf"(?P<rim>{NUMBER})(?![\d.-]){_SUFFIX}"
)
_FLOTATION = re.compile(
    rf"{_START}{_PREFIX}(?P<overall>{NUMBER})\s*X\s*(?P<wide>{NUMBER})\s*(?P<build>ZR|R|D|B|-)\s*"
    rf"(?P<rim>{NUMBER}){_END}{_SUFFIX}"
)
_SERVICE = re.compile(
    r"(?<![A-Z0-9])(?P<open>\()?\s*(?P<load>\d{2,3})(?:\s*/\s*(?P<dual>\d{2,3}))?\s*"
    r"(?P<speed>\(?[A-Z]\)?)(?![A-Z0-9/])\s*\)?"
)
_LOAD_ALONE = re.compile(r"(?<![A-Z0-9.])(?P<load>\d{2,3})(?:/(?P<dual>\d{2,3}))?(?![A-Z0-9.])")
_EXTRA = re.compile(r"(?<![A-Z])(?:XL|EXTRA\s?LOAD|REINF(?:ORCED)?|RFD?)(?![A-Z])")
_IDLE = re.compile(
    r"(?<![A-Z])(?:M ?[+&/]? ?S|3PMSF|TUBELESS|TL|TT|RADIAL|RUN ?FLAT|RFT|ROF|SSR|RSC|M/C"
    r"|LOAD RANGE [A-F]|\d{1,2} ?PR|DOT(?: ?\d{4})?)(?![A-Z0-9])"
)

WHERE = Message(
    "Enter the size that is in large figures on the side of the tyre, such as 225/45 R17 94W. "
    "It is also in the vehicle handbook and often inside the driver's door."
)


@dataclass(frozen=True, slots=True)
class ReadTyre:
    """A parsed tyre marking: `tyre` is None when it is incomplete or impossible."""

    tyre: Tyre | None
    understood: tuple[Message, ...] = ()
    assumed: tuple[Message, ...] = ()
    impossible: tuple[Message, ...] = ()
    where: Message | None = None


def read_tyre(text: str) -> ReadTyre:
    """Parse a tyre marking. Never raise: `impossible` explains what can't be, in plain words."""
    marking = Text(text)
    extra = marking.take(_EXTRA) is not None
    while marking.take(_IDLE):
        pass
    # the loose form comes last: 165-13 84 is a width, a rim and a load, not width, aspect and rim
    forms = (_METRIC, _FLOTATION, _FULL, _LOOSE)
    match = next((found for form in forms if (found := marking.take(form))), None)
    if not match:
        word = mixed_number(marking.left)
        return ReadTyre(None, impossible=(_letter(word),) if word else (), where=WHERE)
    tyre = replace(_size(match), extra_load=extra)
    tyre = _with_service(tyre, marking)
    impossible = _impossible(tyre, marking)
    if impossible:
        return ReadTyre(None, impossible=impossible, where=WHERE)
    return ReadTyre(tyre, _understood(tyre), _assumed(tyre, match, marking))


def write_tyre(tyre: Tyre) -> str:
    """Format a tyre in the one normal form, e.g. `P225/45 ZR17 94Y XL`."""
    rim = f"{tyre.construction}{number(tyre.rim_code)}{tyre.suffix}"
    gap = "" if tyre.construction == "-" else " "
    if tyre.overall_in is not None and tyre.width_in is not None:
        size = f"{tyre.prefix}{number(tyre.overall_in)}x{number(tyre.width_in)}{gap}{rim}"
    elif tyre.aspect == FULL_PROFILE:
        size = f"{tyre.prefix}{number(tyre.width_mm or 0)}{gap}{rim}"
    else:
        size = f"{tyre.prefix}{number(tyre.width_mm or 0)}/{number(tyre.aspect or 0)}{gap}{rim}"
    words = [size]
    if tyre.load_index is not None:
        dual = f"/{tyre.dual_load_index}" if tyre.dual_load_index is not None else ""
        index = f"{tyre.load_index}{dual}"
        symbol = tyre.speed.strip("()")
        words.append(f"({index}{symbol})" if is_bracketed(tyre.speed) else f"{index}{symbol}")
    elif tyre.speed:
        # the older place of the symbol: before the R, as in 165 SR13
        words[0] = words[0].removesuffix(rim) + tyre.speed + rim
    if tyre.extra_load:
        words.append("XL")
    return " ".join(words)


@cache
def _loads() -> dict[int, int]:
    return {int(row["index"]): int(row["kg"]) for row in csv_table("load_index.csv")}


def load_kg(index: int) -> int:
    """Return the load of one tyre in kg for a load index; raise CraftError for an unknown index."""
    try:
        return _loads()[index]
    except KeyError:
        raise CraftError(
            Message("We don't know the load index {index}. Check the number.", index=index)
        ) from None


def speed_kmh(symbol: str) -> int:
    """Return the speed in km/h of a speed symbol; raise CraftError for an unknown one."""
    try:
        return int(_TYRES["speed_kmh"][symbol])
    except KeyError:
        raise CraftError(
            Message(
                "“{symbol}” is not a speed rating. Use the letter after the load "
                "number, such as W.",
                symbol=symbol,
            )
        ) from None


def is_bracketed(symbol: str) -> bool:
    """Return whether a speed symbol stands in brackets: for more than its own speed."""
    return symbol.startswith("(")


def rim_diameter_for_tyre_mm(code: float) -> int:
    """Return the nominal rim diameter d of tyre sizes in mm (25.4 × code, rounded; UN R30)."""
    return int(code * 25.4 + 0.5)


def tyre_diameter_mm(tyre: Tyre) -> float:
    """Return the design overall diameter in mm after UN R30.

    The table's where it lists the size, else d + 2H with H to the whole mm.
    """
    if tyre.overall_in is not None:
        return tyre.overall_in * 25.4
    if tyre.width_mm is None or tyre.aspect is None:
        raise CraftError(Message("Enter the tyre's width and height, such as 225/45."))
    tabled = tabled_mm(tyre)
    if tabled is not None:
        return float(tabled)
    height = int(tyre.width_mm * tyre.aspect / 100 + 0.5)
    return float(rim_diameter_for_tyre_mm(tyre.rim_code) + 2 * height)


def _size(match: re.Match[str]) -> Tyre:
    got = match.groupdict()
    aspect = got.get("aspect")
    return Tyre(
        rim_code=float(got["rim"]),
        width_mm=float(got["width"]) if got.get("width") else None,
        aspect=float(aspect) if aspect else (FULL_PROFILE if got.get("width") else None),
        construction=(got["build"] or "R").replace("RF", "R"),
        prefix=got["prefix"] or "",
        suffix=got["suffix"] or "",
        speed=got.get("speed") or "",
        overall_in=float(got["overall"]) if got.get("overall") else None,
        width_in=float(got["wide"]) if got.get("wide") else None,
    )


def _with_service(tyre: Tyre, marking: Text) -> Tyre:
    match = marking.take(_SERVICE)
    if match:
        speed = match["speed"].strip("()")
        # brackets round a fast symbol say: faster than its own speed
        if f"({speed})" in _TYRES["speed_kmh"] and ("(" in match["speed"] or match["open"]):
            speed = f"({speed})"
        return _with_loads(replace(tyre, speed=speed), match)
    if tyre.speed or not (match := marking.take(_LOAD_ALONE)):
        return tyre
    return _with_loads(tyre, match)


def _with_loads(tyre: Tyre, match: re.Match[str]) -> Tyre:
    dual = int(match["dual"]) if match["dual"] else None
    return replace(tyre, load_index=int(match["load"]), dual_load_index=dual)


def _impossible(tyre: Tyre, marking: Text) -> tuple[Message, ...]:
    word = marking.glued()
    if not word and tyre.aspect is not None and tyre.aspect < 10 and tyre.speed:
        word = f"{number(tyre.aspect)}{tyre.speed}"
    wrong = [_letter(word)] if word else []
    wrong += _out_of_range(tyre) + _off_the_steps(tyre) + _unknown_ratings(tyre)
    if tyre.overall_in is not None and tyre.overall_in <= tyre.rim_code:
        wrong.append(Message("The tyre can't be smaller than its rim. Check both."))
    return tuple(wrong)


def _out_of_range(tyre: Tyre) -> list[Message]:
    out = []
    if not is_code(tyre.rim_code):
        out.append(
            Message(
                "No rim is {size} inches in diameter. Check the number.", size=figure(tyre.rim_code)
            ),
        )
    width, aspect = figure(tyre.width_mm or 0), figure(tyre.aspect or 0)
    tall, wide = figure(tyre.overall_in or 0), figure(tyre.width_in or 0)
    for value, limits, sentence in (
        (
            tyre.width_mm,
            "width_mm",
            Message("No tyre is {size} mm wide. Check the number.", size=width),
        ),
        (
            tyre.aspect,
            "aspect",
            Message("No tyre's height is {size} % of its width. Check the number.", size=aspect),
        ),
        (
            tyre.overall_in,
            "overall_in",
            Message("No tyre is {size} inches tall. Check the number.", size=tall),
        ),
        (
            tyre.width_in,
            "width_in",
            Message("No tyre is {size} inches wide. Check the number.", size=wide),
        ),
    ):
        low, high = _LIMITS[limits]
        if value is not None and not low <= value <= high:
            out.append(sentence)
    return out


def _unknown_ratings(tyre: Tyre) -> list[Message]:
    out = [
        Message("We don't know the load index {index}. Check the number.", index=index)
        for index in (tyre.load_index, tyre.dual_load_index)
        if index is not None and index not in _loads()
    ]
    if tyre.speed and tyre.speed not in _TYRES["speed_kmh"]:
        out.append(
            Message(
                "“{symbol}” is not a speed rating. Use the letter after the load "
                "number, such as W.",
                symbol=tyre.speed,
            )
        )
    return out


def _off_the_steps(tyre: Tyre) -> list[Message]:
    out = []
    if tyre.width_mm is not None and tyre.width_mm % 5:
        size = figure(tyre.width_mm)
        out.append(
            Message("Tyre widths end in 0 or 5, but {size} does not. Check the number.", size=size)
        )
    if tyre.aspect is not None and tyre.aspect % 5 and tyre.aspect != FULL_PROFILE:
        size = figure(tyre.aspect)
        out.append(
            Message(
                "Tyre heights go in steps of 5 %, but {size} does not fit. Check the number.",
                size=size,
            )
        )
    return out


def _letter(word: str) -> Message:
    return Message("There is a letter inside a number at “{word}”. Check it.", word=word)


def _assumed(tyre: Tyre, match: re.Match[str], marking: Text) -> tuple[Message, ...]:
    out = []
    if tyre.aspect == FULL_PROFILE and not match.groupdict().get("aspect"):
        out.append(_FULL_PROFILE if tabled_mm(tyre) is None else _TABLED)
    if not match["build"]:
        out.append(Message("It is a radial tyre, as nearly all are."))
    if unused := marking.unused():
        out.append(Message("We didn't use: {text}", text=unused))
    return tuple(out)


_FULL_PROFILE = Message("No height is marked, so it is a full-profile tyre: 82 % of the width.")
_TABLED = Message("No height is marked, so it is a full-profile tyre. Its size is in a standard.")


def _understood(tyre: Tyre) -> tuple[Message, ...]:
    rim = figure(tyre.rim_code)
    if tyre.overall_in is not None:
        out = [
            Message(
                "{tall} inches tall and {wide} inches wide, for a {rim}-inch rim",
                tall=figure(tyre.overall_in),
                wide=figure(tyre.width_in or 0),
                rim=rim,
            )
        ]
    elif tabled_mm(tyre) is not None:
        width = figure(tyre.width_mm or 0)
        out = [Message("{width} mm wide, full profile, for a {rim}-inch rim", width=width, rim=rim)]
    else:
        width, aspect = figure(tyre.width_mm or 0), figure(tyre.aspect or 0)
        out = [
            Message(
                "{width} mm wide, height {aspect} % of the width, for a {rim}-inch rim",
                width=width,
                aspect=aspect,
                rim=rim,
            )
        ]
    out.append(Message("about {size} across", size=mm(round(tyre_diameter_mm(tyre)))))
    if tyre.load_index is not None:
        out.append(Message("carries up to {mass}", mass=kg(load_kg(tyre.load_index))))
    if is_bracketed(tyre.speed):
        out.append(Message("for more than {kmh} km/h", kmh=speed_kmh(tyre.speed)))
    elif tyre.speed:
        out.append(Message("up to {kmh} km/h", kmh=speed_kmh(tyre.speed)))
    if tyre.extra_load:
        out.append(Message("extra-load build"))
    return tuple(out)
