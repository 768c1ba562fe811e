"""What can't be in a rim marking, each as a sentence that says what to check."""

from portal.craft.marks import beyond_limits, figure
from portal.craft.messages import Message
from portal.craft.parts import Rim
from portal.craft.rim_sizes import is_code
from portal.craft.tables import toml_table

_RIMS = toml_table("rims.toml")
# what is said of a figure of a rim beyond its limits
RANGES = {
    "offset_mm": Message("An offset (ET) of {mm} mm can't be right. Check it.", mm=0),
    "bolt_circle_mm": Message("A bolt circle (PCD) of {mm} mm can't be right. Check it.", mm=0),
    "bore_mm": Message("A centre bore of {mm} mm can't be right. Check it.", mm=0),
    "bolts": Message("{count} bolts can't be right. Check it.", count=0),
}


def letter_inside(word: str) -> Message:
    return Message("There is a letter inside a number at “{word}”. Check it.", word=word)


def is_width(width: float, diameter: float) -> bool:
    """Return whether rims of this width exist, in inches, for a rim of this diameter."""
    step = (width * 4) == int(width * 4) or width in _RIMS["odd_widths"]
    return bool(step and _RIMS["smallest_width"] <= width <= min(diameter, _RIMS["largest_width"]))


def wrong_with(rim: Rim) -> list[Message]:
    """Return what is impossible in a rim; a diameter or width of 0 has not been read."""
    return [*_wrong_size(rim), *_out_of_range(rim)]


def _wrong_size(rim: Rim) -> list[Message]:
    if rim.diameter_code and not is_code(rim.diameter_code):
        return [
            Message(
                "{size} inches is not a rim diameter. Enter {low} to {high} inches.",
                size=figure(rim.diameter_code),
                low=_RIMS["smallest_code"],
                high=_RIMS["largest_code"],
            )
        ]
    if rim.width_code and not is_width(rim.width_code, rim.diameter_code):
        return [
            Message(
                "{size} inches is not a width for this rim. "
                "Enter a width in half inches, such as 7.5.",
                size=figure(rim.width_code),
            )
        ]
    return []


def _out_of_range(rim: Rim) -> list[Message]:
    out = beyond_limits(rim, _RIMS, RANGES)
    if rim.bore_mm and rim.bolt_circle_mm and rim.bore_mm >= rim.bolt_circle_mm:
        out.append(Message("The centre bore can't be wider than the bolt circle. Check both."))
    return out
