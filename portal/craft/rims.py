"""Rim markings parsed as people write and cast them, and formatted in one normal form.

Form after ISO 4000-2, clause 4: width code, flange, diameter code, hump; offset (ET) and bore in
mm; bolts × bolt circle in mm. Either order of width and diameter is accepted.
"""

import re
from dataclasses import dataclass

from portal.craft.marks import NUMBER, Text, figure, mixed_number, number
from portal.craft.messages import Message
from portal.craft.parts import Rim
from portal.craft.rim_sizes import is_code, usual_width, what_we_read
from portal.craft.tables import toml_table

_RIMS = toml_table("rims.toml")


def _one_of(words: list[str]) -> str:
    return "|".join(re.escape(w) for w in sorted(words, key=len, reverse=True))


_FLANGE = _one_of(_RIMS["flanges"])
_HUMP = _one_of(_RIMS["humps"])
_START = r"(?<![\w.+-])"
_END = r"(?![\d.])"
_INCH = r"(?:\s*(?:INCH(?:ES)?|ZOLL|IN(?![A-Z])))?"
_MM = r"[+-]?\d{1,3}(?:\.\d{1,2})?"
_TAIL = rf"(?:\s*(?P<hump>{_HUMP})(?![A-Z0-9]))?(?:\s*X\s*(?P<third>{_MM}){_END})?"
_SIZE = re.compile(
    rf"{_START}(?P<a>{NUMBER})\s*(?P<fa>{_FLANGE})?{_INCH}\s*X\s*(?P<b>{NUMBER}){_END}"
    rf"(?:\s*(?P<fb>{_FLANGE})(?![A-Z]))?{_INCH}{_TAIL}"
)
_DASHED = re.compile(
    rf"{_START}(?P<a>{NUMBER})\s*(?P<fa>{_FLANGE})\s*[- ]\s*(?P<b>{NUMBER}){_END}(?P<fb>){_TAIL}"
)
_DIAMETER = re.compile(rf"{_START}(?:R|RIM )?\s*(?P<b>{NUMBER}){_END}{_INCH}(?![A-Z0-9])")
_CIRCLE = r"\d{2,3}(?:\.\d{1,3})?"
_BOLTS = re.compile(
    rf"{_START}(?:(?:PCD|LK|BC)\s*:?\s*)?(?P<n>\d{{1,2}})\s*[X/-]\s*(?P<c>{_CIRCLE}){_END}"
    rf"(?:\s*/\s*(?P<also>{_CIRCLE}){_END})?(?:\s*(?:PCD|LK|BC)(?![A-Z]))?"
)
_BOLTS_BACK = re.compile(rf"{_START}(?P<c>{_CIRCLE})\s*[X/]\s*(?P<n>\d{{1,2}}){_END}")
_BOLTS_INCH = re.compile(rf"{_START}(?P<n>\d{{1,2}})\s*X\s*(?P<c>\d(?:\.\d{{1,2}})?){_END}{_INCH}")
_LABELLED_OFFSET = re.compile(
    r"(?:(?<![A-Z])(?:ET|IS|OFFSET|OFF)\s*[:=]?\s*(?P<o>[+-]?\s?\d{1,3}(?:\.\d{1,2})?)(?:\s*MM)?"
    r"|(?P<p>[+-]?\d{1,3}(?:\.\d{1,2})?)(?:\s*MM)?\s*(?:OFFSET|ET)(?![A-Z0-9]))"
)
_LABELLED_LETTERS = re.compile(
    r"(?<![A-Z])(?:ET|IS|CB) ?[+-]?(?=[OILSBZ]*\d)[OILSBZ0-9.]{2,5}(?![A-Z])"
)
_SIGNED_OFFSET = re.compile(rf"(?<![\w.])(?P<o>[+-]\d{{1,3}}(?:\.\d{{1,2}})?){_END}(?:\s*MM)?")
_BACKSPACE = re.compile(
    rf"(?:(?P<o>\d(?:\.\d{{1,2}})?){_INCH}\s*(?:BS|BACK\s?SPAC\w*)(?![A-Z])"
    rf"|(?<![A-Z])(?:BS|BACK\s?SPAC\w*)\s*[:=]?\s*(?P<p>\d(?:\.\d{{1,2}})?){_END}{_INCH})"
)
_BORE = re.compile(
    rf"(?<![A-Z])(?:CENT(?:ER|RE) ?BORE|HUB ?BORE|BORE|CB|DIA|NB|ML|D)\s*[:=]?\s*"
    rf"(?P<v>{_CIRCLE}){_END}(?:\s*MM)?"
)
_BARE_BORE = re.compile(rf"(?<![\w.])(?:X\s*)?(?P<v>{_CIRCLE}){_END}(?:\s*MM)?(?![A-Z])")
_HUMP_ALONE = re.compile(rf"(?<![A-Z0-9])(?P<h>{_HUMP})(?![A-Z0-9+])")
_PIECES = re.compile(r"(?<![\w.])([23])[ -]?(?:PIECE|PCS?|PART)(?![A-Z])|MULTI[ -]?PIECE")

WHERE = Message(
    "Look on the back of a spoke, or inside the rim near the valve, for a size such as 8½J×18 "
    "H2 ET35. Can't see it? Use the tyre size on the side of the tyre."
)


@dataclass(frozen=True, slots=True)
class ReadRim:
    """A parsed rim marking: `rim` is None when it is incomplete or impossible."""

    rim: Rim | None
    understood: tuple[Message, ...] = ()
    assumed: tuple[Message, ...] = ()
    impossible: tuple[Message, ...] = ()
    where: Message | None = None


@dataclass(slots=True)
class _Notes:
    """What has been gathered from one marking so far."""

    width: float | None = None
    diameter: float | None = None
    flange: str = ""
    hump: str = ""
    offset: float | None = None
    bolts: int | None = None
    circle: float | None = None
    bore: float | None = None
    assumed: list[Message] | None = None
    impossible: list[Message] | None = None

    def assume(self, sentence: Message) -> None:
        self.assumed = [*(self.assumed or []), sentence]

    def refuse(self, sentence: Message) -> None:
        self.impossible = [*(self.impossible or []), sentence]


def read_rim(text: str) -> ReadRim:
    """Parse a rim marking. Never raise: `impossible` explains what can't be."""
    marking, notes = Text(text), _Notes()
    pieces = marking.take(_PIECES)
    _read_bolts(marking, notes)
    _read_size(marking, notes)
    _read_inch_bolts(marking, notes)
    _read_offset(marking, notes)
    _read_bore(marking, notes)
    if not notes.hump and (hump := marking.take(_HUMP_ALONE)):
        notes.hump = hump["h"]
    if notes.diameter is None:
        _read_diameter_alone(marking, notes)
    _check(notes)
    _look_for_letters(marking, notes)
    impossible = tuple(notes.impossible or ())
    if impossible or notes.diameter is None or notes.width is None:
        return ReadRim(None, impossible=impossible, where=WHERE)
    rim = Rim(
        diameter_code=notes.diameter,
        width_code=notes.width,
        flange=notes.flange or "J",
        hump=notes.hump,
        offset_mm=notes.offset,
        bolts=notes.bolts,
        bolt_circle_mm=notes.circle,
        bore_mm=notes.bore,
    )
    if unused := marking.unused():
        notes.assume(Message("We didn't use: {text}", text=unused))
    return ReadRim(
        rim, what_we_read(rim, multi_piece=pieces is not None), tuple(notes.assumed or ())
    )


def write_rim(rim: Rim) -> str:
    """Format a rim in the one normal form, e.g. `8.5J×18 H2 ET35 5×112 CB66.6`."""
    words = [f"{number(rim.width_code)}{rim.flange}×{number(rim.diameter_code)}"]
    if rim.hump:
        words.append(rim.hump)
    if rim.offset_mm is not None:
        words.append(f"ET{number(rim.offset_mm)}")
    if rim.bolts is not None and rim.bolt_circle_mm is not None:
        words.append(f"{rim.bolts}×{number(rim.bolt_circle_mm)}")
    if rim.bore_mm is not None:
        words.append(f"CB{number(rim.bore_mm)}")
    return " ".join(words)


def _read_bolts(marking: Text, notes: _Notes) -> None:
    low, high = _RIMS["bolts"]
    for pattern in (_BOLTS, _BOLTS_BACK):
        for match in pattern.finditer(marking.left):
            count, circle = int(match["n"]), float(match["c"])
            if low <= count <= high and circle >= _RIMS["bolt_circle_mm"][0]:
                start, end = match.span()
                marking.left = marking.left[:start] + "\x00" + marking.left[end:]
                notes.bolts, notes.circle = count, round(circle, 2)
                _two_circles(match, notes)
                return


def _two_circles(match: re.Match[str], notes: _Notes) -> None:
    also = match.groupdict().get("also")
    if also:
        notes.assume(
            Message(
                "Drilled for two bolt circles (PCD), {first} and {second} mm. We use the first.",
                first=match["c"],
                second=also,
            )
        )


def _read_inch_bolts(marking: Text, notes: _Notes) -> None:
    if notes.bolts is not None or notes.diameter is None:
        return
    match = marking.take(_BOLTS_INCH)
    if not match:
        return
    low, high = _RIMS["bolts"]
    count, circle = int(match["n"]), float(match["c"])
    if not (low <= count <= high and 3.5 <= circle <= 9):
        marking.put_back(match)
        return
    notes.bolts, notes.circle = count, round(circle * 25.4, 2)
    notes.assume(
        Message(
            "The bolt circle (PCD) {inch} is in inches: {mm} mm.", inch=match["c"], mm=notes.circle
        )
    )


def _read_size(marking: Text, notes: _Notes) -> None:
    match = marking.take(_SIZE) or marking.take(_DASHED)
    if not match:
        return
    first, second = float(match["a"]), float(match["b"])
    after_first, after_second = match["fa"] or "", match["fb"] or ""
    if after_first and after_second and after_first != after_second:
        notes.refuse(_letter(f"{match['b']}{after_second}"))
    if after_first:
        notes.width, notes.diameter = first, second
    elif after_second and second < first:
        notes.width, notes.diameter = second, first
    else:
        notes.width, notes.diameter = min(first, second), max(first, second)
    notes.flange = after_first or after_second
    notes.hump = match["hump"] or ""
    if match["third"]:
        notes.offset = float(match["third"])
        notes.assume(
            Message("The third number, {mm}, is the offset (ET) in mm.", mm=match["third"])
        )
    if not notes.flange:
        notes.assume(Message("The flange (outer edge) is a J type, as on nearly all car wheels."))


def _read_diameter_alone(marking: Text, notes: _Notes) -> None:
    match = marking.take(_DIAMETER)
    if not match:
        return
    notes.diameter = float(match["b"])
    notes.width = usual_width(notes.diameter)
    notes.assume(
        Message(
            "You gave only the diameter, so we assume the usual width of {width} inches.",
            width=figure(notes.width),
        )
    )


def _read_offset(marking: Text, notes: _Notes) -> None:
    if match := marking.take(_LABELLED_OFFSET):
        notes.offset = float((match["o"] or match["p"]).replace(" ", ""))
    elif (match := marking.take(_BACKSPACE)) and notes.width is not None:
        back = float(match["o"] or match["p"])
        # the overall width is about an inch more than the width between the bead seats
        notes.offset = round((back - (notes.width + 1) / 2) * 25.4)
        notes.assume(
            Message("From the backspacing we work out an offset of about {mm} mm.", mm=notes.offset)
        )
    elif notes.offset is None and (match := marking.take(_SIGNED_OFFSET)):
        notes.offset = float(match["o"])
    # -0 and 0 are the same wheel
    if notes.offset == 0:
        notes.offset = 0.0


def _read_bore(marking: Text, notes: _Notes) -> None:
    if match := marking.take(_BORE):
        notes.bore = round(float(match["v"]), 2)
        return
    if notes.bolts is None:
        return
    match = marking.take(_BARE_BORE)
    if not match:
        return
    low, high = _RIMS["bore_mm"]
    if not low <= float(match["v"]) <= high:
        marking.put_back(match)
        return
    notes.bore = round(float(match["v"]), 2)
    notes.assume(Message("{mm} is the centre bore in mm.", mm=match["v"]))


def _look_for_letters(marking: Text, notes: _Notes) -> None:
    if notes.diameter is None:
        word = mixed_number(marking.left)
    else:
        label = _LABELLED_LETTERS.search(marking.left)
        word = marking.glued() or (label[0] if label else None)
        if not word and not is_code(notes.diameter):
            word = mixed_number(marking.whole)
    if word:
        notes.refuse(_letter(word))


def _letter(word: str) -> Message:
    return Message("There is a letter inside a number at “{word}”. Check it.", word=word)


def _check(notes: _Notes) -> None:
    if notes.diameter is not None and not is_code(notes.diameter):
        notes.refuse(
            Message(
                "{size} inches is not a rim diameter. Enter {low} to {high} inches.",
                size=figure(notes.diameter),
                low=_RIMS["smallest_code"],
                high=_RIMS["largest_code"],
            )
        )
    elif notes.width is not None and not _is_width(notes.width, notes.diameter or 0):
        notes.refuse(
            Message(
                "{size} inches is not a width for this rim. "
                "Enter a width in half inches, such as 7.5.",
                size=figure(notes.width),
            )
        )
    offset, circle, bore = (figure(v or 0) for v in (notes.offset, notes.circle, notes.bore))
    for value, limits, sentence in (
        (
            notes.offset,
            "offset_mm",
            Message("An offset (ET) of {mm} mm can't be right. Check it.", mm=offset),
        ),
        (
            notes.circle,
            "bolt_circle_mm",
            Message("A bolt circle (PCD) of {mm} mm can't be right. Check it.", mm=circle),
        ),
        (
            notes.bore,
            "bore_mm",
            Message("A centre bore of {mm} mm can't be right. Check it.", mm=bore),
        ),
    ):
        low, high = _RIMS[limits]
        if value is not None and not low <= value <= high:
            notes.refuse(sentence)
    if notes.bore is not None and notes.circle is not None and notes.bore >= notes.circle:
        notes.refuse(Message("The centre bore can't be wider than the bolt circle. Check both."))


def _is_width(width: float, diameter: float) -> bool:
    step = (width * 4) == int(width * 4) or width in _RIMS["odd_widths"]
    return bool(step and _RIMS["smallest_width"] <= width <= min(diameter, _RIMS["largest_width"]))
