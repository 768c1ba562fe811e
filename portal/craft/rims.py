"""Rim markings parsed as people write and cast them, and formatted in one normal form.

The grammar is in `craft.rim_grammar`. Values may stand in any order. What can be meant in two
ways stays open and is asked for (`unsure`); what means nothing to us is named.
"""

import re
from dataclasses import dataclass, field

from portal.craft.marks import Text, figure, mixed_number, number
from portal.craft.messages import Message
from portal.craft.parts import Rim
from portal.craft.rim_checks import is_width, letter_inside, wrong_with
from portal.craft.rim_dimensions import best_size, flange_of, is_written, width_and_diameter
from portal.craft.rim_grammar import (
    BACKSPACE,
    BARE,
    BOLTS,
    BOLTS_BACK,
    BOLTS_INCH,
    BOLTS_NAMED,
    DIAMETER,
    GLUED_LABEL,
    HOLES,
    HUMP_ALONE,
    LABELLED_LETTERS,
    PIECES,
    SIGNED_OFFSET,
    WIDTH_LIKE,
)
from portal.craft.rim_labels import take_labelled
from portal.craft.rim_sizes import is_code, is_taper_15, usual_width, what_we_read
from portal.craft.tables import toml_table

_RIMS = toml_table("rims.toml")

WHERE = Message(
    "Look on the back of a spoke, or inside the rim near the valve, for a size such as 8½J×18 "
    "H2 ET35. Can't see it? Use the tyre size on the side of the tyre."
)


@dataclass(frozen=True, slots=True)
class ReadRim:
    """A parsed rim marking: `rim` is None when it is incomplete or impossible.

    `assumed` is what we took for granted, `unsure` what has to be asked: the rim lacks it.
    """

    rim: Rim | None
    understood: tuple[Message, ...] = ()
    assumed: tuple[Message, ...] = ()
    impossible: tuple[Message, ...] = ()
    where: Message | None = None
    unsure: tuple[Message, ...] = ()


@dataclass(slots=True)
class _Notes:
    """What has been gathered from one marking so far."""

    width: float | None = None
    diameter: float | None = None
    flange: str | None = None
    hump: str = ""
    offset: float | None = None
    bolts: int | None = None
    circle: float | None = None
    bore: float | None = None
    assumed: list[Message] = field(default_factory=list)
    unsure: list[Message] = field(default_factory=list)
    impossible: list[Message] = field(default_factory=list)


def read_rim(text: str) -> ReadRim:
    """Parse a rim marking. Never raise: `impossible` explains what can't be."""
    marking, notes = Text(text), _Notes()
    marking.left = marking.whole = GLUED_LABEL.sub(" ", marking.whole)
    pieces = marking.take(PIECES)
    _read_bolts(marking, notes)
    _read_size(marking, notes)
    _read_inch_bolts(marking, notes)
    _read_labelled(marking, notes)
    _read_offset(marking, notes)
    if not notes.hump and (hump := marking.take(HUMP_ALONE)):
        notes.hump = hump["h"]
    if notes.diameter is None:
        _read_diameter_alone(marking, notes)
    else:
        _read_bare(marking, notes)
    rim = _rim_of(notes)
    notes.impossible += wrong_with(rim)
    _look_for_letters(marking, notes)
    _look_for_a_second_size(marking, notes)
    if notes.impossible or notes.diameter is None or notes.width is None:
        return ReadRim(None, impossible=tuple(notes.impossible), where=WHERE)
    if unused := marking.unused():
        notes.assumed.append(Message("We didn't use: {text}", text=unused))
    says = what_we_read(rim, multi_piece=pieces is not None)
    return ReadRim(rim, says, tuple(notes.assumed), unsure=tuple(notes.unsure))


def _rim_of(notes: _Notes) -> Rim:
    return Rim(
        diameter_code=notes.diameter or 0,
        width_code=notes.width or 0,
        flange="J" if notes.flange is None else notes.flange,
        hump=notes.hump,
        offset_mm=notes.offset,
        bolts=notes.bolts,
        bolt_circle_mm=notes.circle,
        bore_mm=notes.bore,
    )


def _read_bolts(marking: Text, notes: _Notes) -> None:
    low, high = _RIMS["bolts"]
    for pattern in (BOLTS, BOLTS_NAMED, BOLTS_BACK):
        for match in pattern.finditer(marking.left):
            count, circle = int(match["n"]), float(match["c"])
            if low <= count <= high and circle >= _RIMS["bolt_circle_mm"][0]:
                marking.cut(match)
                notes.bolts, notes.circle = count, round(circle, 2)
                if also := match.groupdict().get("also"):
                    _read_behind_bolts(match["c"], also, notes)
                return


def _read_behind_bolts(first: str, also: str, notes: _Notes) -> None:
    """Read the number behind a bolt circle: 5×100/114.3 has two circles, 5×108×65 has its bore."""
    if float(also) not in _RIMS["bolt_circles"]:
        notes.bore = round(float(also), 2)
        notes.assumed.append(Message("{mm} is the centre bore in mm.", mm=also))
        return
    notes.assumed.append(
        Message(
            "Drilled for two bolt circles (PCD), {first} and {second} mm. We use the first.",
            first=first,
            second=also,
        )
    )


def _read_inch_bolts(marking: Text, notes: _Notes) -> None:
    if notes.bolts is not None or notes.diameter is None:
        return
    low, high = _RIMS["bolts"]
    for match in BOLTS_INCH.finditer(marking.left):
        count, circle = int(match["n"]), float(match["c"])
        if low <= count <= high and 3.5 <= circle <= 9:
            marking.cut(match)
            notes.bolts, notes.circle = count, round(circle * 25.4, 2)
            notes.assumed.append(
                Message(
                    "The bolt circle (PCD) {inch} is in inches: {mm} mm.",
                    inch=match["c"],
                    mm=notes.circle,
                )
            )
            return


def _read_size(marking: Text, notes: _Notes) -> None:
    match = best_size(marking.left)
    if not match:
        return
    marking.cut(match)
    _note_size(match, notes)
    notes.hump = match["hump"] or ""
    if match["third"]:
        notes.offset = float(match["third"])
        notes.assumed.append(
            Message("The third number, {mm}, is the offset (ET) in mm.", mm=match["third"])
        )
    if notes.flange is None:
        _assume_flange(match, notes)


def _assume_flange(match: re.Match[str], notes: _Notes) -> None:
    if match["ma"] or match["mb"]:
        notes.flange = "MT"
        notes.assumed.append(Message("The flange is an MT type, as on motorcycle wheels."))
    elif is_taper_15(notes.diameter or 0):
        notes.flange = ""
    else:
        notes.assumed.append(
            Message("The flange (outer edge) is a J type, as on nearly all car wheels.")
        )


def _note_size(match: re.Match[str], notes: _Notes) -> None:
    notes.width, notes.diameter = width_and_diameter(match)
    notes.flange = flange_of(match)
    behind = {match["fa"], match["fb"]} - {None}
    if len(behind) > 1:
        notes.impossible.append(letter_inside(f"{match['b']}{match['fb']}"))
    if not notes.flange and "X" not in match["gap"]:
        notes.assumed.append(
            Message(
                "We take {wide} for the width and {across} for the diameter, in inches.",
                wide=figure(notes.width),
                across=figure(notes.diameter),
            )
        )


def _read_labelled(marking: Text, notes: _Notes) -> None:
    labelled = take_labelled(marking)
    notes.unsure += labelled.unsure
    if "offset" in labelled.values:
        notes.offset = labelled.values["offset"]
    if "bore" in labelled.values:
        notes.bore = round(labelled.values["bore"], 2)
    if notes.circle is None and "circle" in labelled.values:
        notes.circle = round(labelled.values["circle"], 2)
    if notes.bolts is None and (match := marking.take(HOLES)):
        notes.bolts = int(match["n"])


def _read_offset(marking: Text, notes: _Notes) -> None:
    if notes.offset is None and notes.width is not None and (match := marking.take(BACKSPACE)):
        back = float(match["o"] or match["p"])
        # the overall width is about an inch more than the width between the bead seats
        notes.offset = round((back - (notes.width + 1) / 2) * 25.4)
        notes.assumed.append(
            Message("From the backspacing we work out an offset of about {mm} mm.", mm=notes.offset)
        )
    elif notes.offset is None and (match := marking.take(SIGNED_OFFSET)):
        notes.offset = float(match["o"])
    # -0 and 0 are the same wheel
    if notes.offset == 0:
        notes.offset = 0.0


def _read_bare(marking: Text, notes: _Notes) -> None:
    """Read a number without a label: a bore where it can be nothing else, else a question."""
    bare = list(BARE.finditer(marking.left))
    bores = [one for one in bare if _is_bore(float(one["v"]), notes)]
    if notes.bore is None and len(bores) == 1:
        marking.cut(bores[0])
        notes.bore = round(float(bores[0]["v"]), 2)
        notes.assumed.append(Message("{mm} is the centre bore in mm.", mm=bores[0]["v"]))
        bare = list(BARE.finditer(marking.left))
    if len(bare) == 1 and not notes.unsure and (question := _question(bare[0]["v"], notes)):
        notes.unsure.append(question)
        marking.cut(bare[0])


def _is_bore(value: float, notes: _Notes) -> bool:
    """Whether a bare number can only be the bore: a fraction, or large beside a known offset."""
    low, high = _RIMS["bore_mm"]
    if not low <= value <= min(high, notes.circle or high):
        return False
    return value * 2 != int(value * 2) or (
        notes.offset is not None
        and notes.bolts is not None
        and value >= _RIMS["least_bare_bore_mm"]
    )


def _question(text: str, notes: _Notes) -> Message | None:
    value = float(text)
    offset = notes.offset is None and value <= _RIMS["offset_mm"][1]
    bore = notes.bore is None and _RIMS["bore_mm"][0] <= value <= _RIMS["bore_mm"][1]
    if offset and bore:
        return Message(
            "We don't know what {mm} is. Write ET{mm} if it is the offset, CB{mm} if it is the "
            "centre bore.",
            mm=text,
        )
    if offset:
        return Message("We don't know what {mm} is. Write ET{mm} if it is the offset.", mm=text)
    if bore:
        return Message(
            "We don't know what {mm} is. Write CB{mm} if it is the centre bore.", mm=text
        )
    return None


def _read_diameter_alone(marking: Text, notes: _Notes) -> None:
    found = list(DIAMETER.finditer(marking.left))
    match = next((one for one in found if is_code(float(one["b"]))), next(iter(found), None))
    if not match:
        return
    marking.cut(match)
    notes.diameter = float(match["b"])
    if is_code(notes.diameter) and any(map(_may_be_width, WIDTH_LIKE.finditer(marking.left))):
        notes.impossible.append(
            Message(
                "We read a diameter of {diameter} inches, but not the width. "
                "Write both, such as 8J x 18.",
                diameter=figure(notes.diameter),
            )
        )
        return
    notes.width = usual_width(notes.diameter)
    notes.assumed.append(
        Message(
            "You gave only the diameter, so we assume the usual width of {width} inches.",
            width=figure(notes.width),
        )
    )


def _may_be_width(match: re.Match[str]) -> bool:
    return 0 < float(match["v"]) <= float(_RIMS["largest_width"])


def _look_for_letters(marking: Text, notes: _Notes) -> None:
    if notes.diameter is None:
        word = mixed_number(marking.left)
    else:
        label = LABELLED_LETTERS.search(marking.left)
        word = marking.glued() or (label[0] if label else None)
        if not word and not is_code(notes.diameter):
            word = mixed_number(marking.whole)
    if word:
        notes.impossible.append(letter_inside(word))


def _look_for_a_second_size(marking: Text, notes: _Notes) -> None:
    """Refuse two sizes in one marking: front and rear wheels are two sets."""
    if notes.width is None or notes.diameter is None:
        return
    second = best_size(marking.left)
    if second is None or not is_written(second):
        return
    width, diameter = width_and_diameter(second)
    if is_code(diameter) and is_width(width, diameter):
        notes.impossible.append(
            Message(
                "We see two sizes, {one} and {other}. Enter one of them, and add another set for "
                "the other.",
                one=f"{number(notes.width)} × {number(notes.diameter)}",
                other=f"{number(width)} × {number(diameter)}",
            )
        )
