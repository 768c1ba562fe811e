"""Rim sizes of the standard: which codes exist, their measures in mm, how they are written."""

from portal.craft.marks import figure, number
from portal.craft.messages import Message
from portal.craft.parts import Rim
from portal.craft.tables import toml_table

_RIMS = toml_table("rims.toml")


def is_code(code: float) -> bool:
    """Return whether rims of this diameter code exist."""
    whole = code == int(code) and _RIMS["smallest_code"] <= code <= _RIMS["largest_code"]
    return whole or code in _RIMS["half_codes"]


def is_taper_15(code: float) -> bool:
    """Return whether this is a 15° drop-centre rim of a lorry, whose marking names no flange."""
    return code in _RIMS["taper_15_codes"]


def bead_seat_mm(code: float) -> float:
    """Return the specified rim diameter D in mm at the bead seat of a diameter code."""
    whole = "up_to_16" if code <= 16 else "from_17"
    row = whole if code == int(code) else "half_codes"
    return round(code * 25.4 + float(_RIMS["diameter_shift_mm"][row]), 1)


def usual_width(code: float) -> float:
    """Return the usual rim width of a diameter, in inches (common practice)."""
    usual = _RIMS["usual_width"]
    nearest = min(range(len(usual["codes"])), key=lambda i: abs(usual["codes"][i] - code))
    return float(usual["widths"][nearest])


def write_rim(rim: Rim) -> str:
    """Format a rim in the one normal form, e.g. `8.5J×18 H2 ET35 5×112 CB66.6`."""
    # a motorcycle rim bears its letters before the width: MT5.5×17
    before, behind = (rim.flange, "") if rim.flange in _RIMS["flange_first"] else ("", rim.flange)
    words = [f"{before}{number(rim.width_code)}{behind}×{number(rim.diameter_code)}"]
    if rim.hump:
        words.append(rim.hump)
    if rim.offset_mm is not None:
        words.append(f"ET{number(rim.offset_mm)}")
    if rim.bolts is not None and rim.bolt_circle_mm is not None:
        words.append(f"{rim.bolts}×{number(rim.bolt_circle_mm)}")
    elif rim.bolts is not None:
        words.append(f"{rim.bolts} bolts")
    elif rim.bolt_circle_mm is not None:
        words.append(f"PCD{number(rim.bolt_circle_mm)}")
    if rim.bore_mm is not None:
        words.append(f"CB{number(rim.bore_mm)}")
    return " ".join(words)


def what_we_read(rim: Rim, *, multi_piece: bool) -> tuple[Message, ...]:
    """Return the meaning of a rim's marking, one message for each value."""
    size = {"diameter": figure(rim.diameter_code), "width": figure(rim.width_code)}
    out = [
        Message(
            "{diameter} inches across, {width} inches wide, {flange} flange",
            **size,
            flange=rim.flange,
        )
        if rim.flange
        else Message("{diameter} inches across, {width} inches wide", **size)
    ]
    if rim.hump:
        out.append(Message("safety hump {hump}", hump=rim.hump))
    if rim.offset_mm is not None:
        out.append(Message("offset {mm} mm", mm=figure(rim.offset_mm)))
    circle = figure(rim.bolt_circle_mm or 0)
    if rim.bolts is not None and circle:
        out.append(Message("{count} bolts on a {mm} mm circle (PCD)", count=rim.bolts, mm=circle))
    elif rim.bolts is not None:
        out.append(Message("{count} bolts", count=rim.bolts))
    elif circle:
        out.append(Message("bolt circle (PCD) {mm} mm", mm=circle))
    if rim.bore_mm is not None:
        out.append(Message("centre bore {mm} mm", mm=figure(rim.bore_mm)))
    if multi_piece:
        out.append(Message("made of several pieces"))
    return tuple(out)
