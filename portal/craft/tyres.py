"""Tyre markings parsed and formatted: of cars, lorries and motorcycles, today's and older forms.

The forms are in `craft.tyre_forms`, what their figures mean in `craft.tyre_ratings` and
`craft.tyre_sizes`.
"""

import re
from dataclasses import dataclass, replace

from portal.craft.full_profile import FULL_PROFILE, tabled_mm
from portal.craft.marks import Text, beyond_limits, figure, mixed_number, number
from portal.craft.messages import Message
from portal.craft.parts import Tyre
from portal.craft.quantities import kg, mm
from portal.craft.rim_checks import letter_inside
from portal.craft.rim_sizes import is_code, is_taper_15
from portal.craft.tables import toml_table
from portal.craft.tyre_forms import EXTRA, FORMS, IDLE, LOAD_ALONE, SERVICE, SIZES
from portal.craft.tyre_ratings import is_bracketed, is_speed, load_kg, speed_kmh, unknown_ratings
from portal.craft.tyre_sizes import has_width_code, is_tabled, tyre_diameter_mm

_TYRES = toml_table("tyres.toml")
_LIMITS = _TYRES["limits"]
# what is said of a figure of a tyre beyond its limits
RANGES = {
    "width_mm": Message("No tyre is {size} mm wide. Check the number.", size=0),
    "aspect": Message("No tyre's height is {size} % of its width. Check the number.", size=0),
    "overall_in": Message("No tyre is {size} inches tall. Check the number.", size=0),
    "width_in": Message("No tyre is {size} inches wide. Check the number.", size=0),
}
_LETTERED: dict[str, int] = _TYRES["lettered_mm"]

WHERE = Message(
    "Enter the size that is in large figures on the side of the tyre, such as 225/45 R17 94W. "
    "It is also in the vehicle handbook and often inside the driver's door."
)


_TWO_SIZES = Message("We see two tyre sizes. Enter one of them, and add another set for the other.")


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
    extra = marking.take(EXTRA) is not None
    while marking.take(IDLE):
        pass
    match = next((found for form in FORMS if (found := marking.take(form))), None)
    if not match:
        word = mixed_number(marking.left)
        return ReadTyre(None, impossible=(letter_inside(word),) if word else (), where=WHERE)
    if any(form.search(marking.left) for form in SIZES):
        return ReadTyre(None, impossible=(_TWO_SIZES,), where=WHERE)
    tyre = replace(_size(match), extra_load=extra)
    tyre = _with_service(tyre, marking)
    impossible = _impossible(tyre, marking)
    if impossible:
        return ReadTyre(None, impossible=impossible, where=WHERE)
    return ReadTyre(tyre, _understood(tyre), _assumed(tyre, match, marking))


def write_tyre(tyre: Tyre) -> str:
    """Format a tyre in the one normal form, e.g. `P225/45 ZR17 94Y XL`."""
    size, rim = _written_size(tyre), f"{tyre.construction}{number(tyre.rim_code)}{tyre.suffix}"
    gap = "" if tyre.construction == "-" or tyre.prefix in _LETTERED else " "
    size = f"{tyre.prefix}{size}{gap}{rim}"
    words = [size]
    if tyre.load_index is not None:
        dual = f"/{tyre.dual_load_index}" if tyre.dual_load_index is not None else ""
        index = f"{tyre.load_index}{dual}"
        # (94Y) is the index within the brackets of (Y)
        words.append(
            f"({index}{tyre.speed[1:]}" if is_bracketed(tyre.speed) else index + tyre.speed
        )
    elif tyre.speed:
        # the older place of the symbol: before the R, as in 165 SR13
        words[0] = words[0].removesuffix(rim) + tyre.speed + rim
    if tyre.extra_load:
        words.append("XL")
    return " ".join(words)


def _written_size(tyre: Tyre) -> str:
    width, aspect = number(tyre.width_mm or 0), number(tyre.aspect or 0)
    if tyre.width_in is not None:
        if not has_width_code(tyre):
            return f"{number(tyre.overall_in or 0)}x{number(tyre.width_in)}"
        # 11R22.5 is written without decimals, 10.00R20 and 5.60-15 with two
        return number(tyre.width_in) if is_taper_15(tyre.rim_code) else f"{tyre.width_in:.2f}"
    if tyre.prefix in _LETTERED:
        return aspect
    return width if tyre.aspect == FULL_PROFILE else f"{width}/{aspect}"


def _size(match: re.Match[str]) -> Tyre:
    got = match.groupdict()
    prefix, aspect, width = got["prefix"] or "", got.get("aspect"), got.get("width")
    width_mm = float(width) if width else _LETTERED.get(prefix)
    build = (got["build"] or ("-" if prefix in _LETTERED else "R")).replace("RF", "R")
    return Tyre(
        rim_code=float(got["rim"]),
        width_mm=width_mm,
        aspect=float(aspect) if aspect else (FULL_PROFILE if width else None),
        construction=build.replace("X", "-"),
        prefix=prefix,
        suffix=got["suffix"] or "",
        speed=got.get("speed") or "",
        overall_in=float(got["overall"]) if got.get("overall") else None,
        width_in=float(got["wide"]) if got.get("wide") else None,
    )


def _with_service(tyre: Tyre, marking: Text) -> Tyre:
    match = marking.take(SERVICE)
    if match:
        speed = match["symbol"]
        # brackets round a fast symbol say: faster than its own speed
        if is_speed(f"({speed})") and (match["bracket"] or match["open"]):
            speed = f"({speed})"
        return _with_loads(replace(tyre, speed=speed), match)
    if tyre.speed or not (match := marking.take(LOAD_ALONE)):
        return tyre
    return _with_loads(tyre, match)


def _with_loads(tyre: Tyre, match: re.Match[str]) -> Tyre:
    dual = int(match["dual"]) if match["dual"] else None
    return replace(tyre, load_index=int(match["load"]), dual_load_index=dual)


def _impossible(tyre: Tyre, marking: Text) -> tuple[Message, ...]:
    word = marking.glued()
    if not word and tyre.aspect is not None and tyre.aspect < 10 and tyre.speed:
        word = f"{number(tyre.aspect)}{tyre.speed}"
    wrong = [letter_inside(word)] if word else []
    wrong += _out_of_range(tyre) + _off_the_steps(tyre) + unknown_ratings(tyre)
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
    return out + beyond_limits(tyre, _LIMITS, RANGES)


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


def _assumed(tyre: Tyre, match: re.Match[str], marking: Text) -> tuple[Message, ...]:
    out = []
    if is_tabled(tyre):
        out.append(_TABLED)
    elif has_width_code(tyre):
        aspect = _TYRES["width_code"]["aspect"]
        out.append(
            Message("No height is marked. We take {percent} % of the width.", percent=aspect)
        )
    elif tyre.aspect == FULL_PROFILE and not match.groupdict().get("aspect"):
        out.append(_FULL_PROFILE)
    if tyre.prefix in _LETTERED:
        letters, width = tyre.prefix, figure(tyre.width_mm or 0)
        out.append(
            Message("The letters {letters} mean {width} mm wide.", letters=letters, width=width)
        )
    elif not match["build"]:
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
    elif has_width_code(tyre):
        width = figure(tyre.width_in or 0)
        out = [
            Message("{wide} inches wide, full profile, for a {rim}-inch rim", wide=width, rim=rim)
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
    out += _understood_ratings(tyre)
    return tuple(out)


def _understood_ratings(tyre: Tyre) -> list[Message]:
    out = []
    if tyre.load_index is not None:
        out.append(Message("carries up to {mass}", mass=kg(load_kg(tyre.load_index))))
    if tyre.dual_load_index is not None:
        mass = kg(load_kg(tyre.dual_load_index))
        out.append(Message("up to {mass} as one of a pair", mass=mass))
    if is_bracketed(tyre.speed):
        out.append(Message("for more than {kmh} km/h", kmh=speed_kmh(tyre.speed)))
    elif tyre.speed:
        out.append(Message("up to {kmh} km/h", kmh=speed_kmh(tyre.speed)))
    if tyre.extra_load:
        out.append(Message("extra-load build"))
    if tyre.prefix == "HL":
        out.append(Message("high-load build"))
    return out
