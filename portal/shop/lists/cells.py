"""What single cells say: a number of parts, a size, a day, several words."""

import re
from datetime import date
from typing import TypeVar

from portal.craft.geometry import usual_longest_mm
from portal.craft.lengths import read_lengths, split_lengths
from portal.craft.markings import (
    FitAnswer,
    ReadSize,
    read_size,
    rim_from_tyre,
    tyre_on_rim,
)
from portal.craft.messages import CraftError, Message
from portal.craft.parts import LONGEST_MM, PartKind, Rim, Tyre
from portal.craft.quantities import Box
from portal.craft.titled import Titled
from portal.shop.lists.words import Words

Word = TypeVar("Word", bound=Titled)
SHORTEST = 1
# "4", "4 pieces", "4x"; a spreadsheet may write 4.0
_COUNT = re.compile(r"(?P<n>[0-9]{1,4})(?:[.,]0+)?\s*(?:x|×|[^\W\d_]+\.?)?\Z")
_ISO = re.compile(r"(?P<y>[0-9]{4})-(?P<m>[0-9]{1,2})-(?P<d>[0-9]{1,2})\Z")
_DAY_FIRST = re.compile(r"(?P<d>[0-9]{1,2})[./](?P<m>[0-9]{1,2})(?:[./](?P<y>[0-9]{4})?)?\Z")
_SEVERAL = (re.compile(r"\s*[+;/&]\s*"), re.compile(r"\s*[+;/&,]\s*"))

NOT_KNOWN = Message("We don't know “{text}” here. Choose one of the words in the list.")
NO_SIZE = Message("Enter the size, or “?” where we are to measure.")


def read_count(text: str) -> int:
    """Return how many parts a cell says; raise CraftError where it is no whole number."""
    found = _COUNT.match(text)
    if not found or not int(found["n"]):
        raise CraftError(Message("Enter how many there are, as a whole number."))
    return int(found["n"])


def read_day(text: str, today: date) -> date:
    """Return a day: 2026-12-04, 4.12.2026 or 4/12/2026 (the day first); without a year the next.

    Raises CraftError for what is no day, or a day that is over.
    """
    found = _ISO.match(text) or _DAY_FIRST.match(text)
    day = _day(found, today) if found else None
    if day is None:
        raise CraftError(Message("Enter a day such as 2026-12-04."))
    if day < today:
        raise CraftError(Message("This day is over."))
    return day


def _day(found: "re.Match[str]", today: date) -> date | None:
    try:
        day = date(int(found["y"] or today.year), int(found["m"]), int(found["d"]))
        return day if found["y"] or day >= today else day.replace(year=day.year + 1)
    except ValueError:
        return None


def read_wheel_size(text: str) -> tuple[ReadSize, Rim | None, Tyre | None]:
    """Return a marking as it was read, with its rim and its tyre; raise CraftError with a reason.

    Where the size is open, both are None.
    """
    if text == "?":
        return (ReadSize(), None, None)
    read = read_size(text)
    if read.wrong:
        raise CraftError(read.wrong[0])
    tyre = read.tyre.tyre if read.tyre else None
    rim = read.rim.rim if read.rim else rim_from_tyre(tyre) if tyre else None
    fit: FitAnswer | None = tyre_on_rim(tyre, rim) if tyre and read.rim and rim else None
    if fit and fit.belongs is False:
        raise CraftError(fit.says)
    return (read, rim, tyre if rim else None)


def read_box(text: str, kind: PartKind) -> tuple[float, float, float] | None:
    """Return length × width × height in mm, None where we are to measure.

    "!" behind it confirms an unusual size. Raises CraftError with a reason.
    """
    sure, text = text.endswith("!"), text.rstrip("!").strip()
    if text == "?":
        return None
    pieces = split_lengths(text)
    found = read_lengths(pieces) if pieces else []
    sides = [side for side in found if side is not None and SHORTEST <= side <= LONGEST_MM]
    if len(sides) != 3:  # length, width and height
        raise CraftError(
            Message("Enter length x width x height, such as 260 x 140 x 120 mm. Up to 12 m.")
        )
    length, width, height = (round(side, 1) for side in sides)
    low, high = usual_longest_mm(kind)
    if not sure and not low <= max(sides) <= high:
        size = Box((round(length), round(width), round(height)))
        raise CraftError(
            Message("Is one part really {size}? Correct it, or write “!” behind it.", size=size)
        )
    return (length, width, height)


def read_word(kind: type[Word], text: str, words: Words) -> Word:
    """Return the word that a cell says; raise CraftError where it is none of this kind."""
    found = words.find(kind, text)
    if found is None:
        raise CraftError(not_known(text))
    return found


def read_words(kind: type[Word], text: str, words: Words) -> tuple[Word, ...]:
    """Return the words of a cell, each once, in their own order; raise CraftError otherwise.

    They may be parted by a plus, a stroke, a semicolon or a comma, which titles may have as well.
    """
    whole = words.find(kind, text)
    if whole is not None:
        return (whole,)
    problem: CraftError | None = None
    for parted in _SEVERAL:
        try:
            found = [read_word(kind, one, words) for one in parted.split(text) if one]
        except CraftError as wrong:
            problem = wrong
        else:
            return tuple(one for one in kind if one in found)
    raise problem or CraftError(not_known(text))


def not_known(text: str) -> Message:
    """Return that a word is not known here."""
    return Message(NOT_KNOWN.msgid, text=text)
