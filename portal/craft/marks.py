"""Normal forms of how people write markings, and a text from which read parts are removed.

Used by the parsers of rim and tyre markings alone. Nothing here raises on any text.
"""

import re
import unicodedata
from collections.abc import Mapping, Sequence
from typing import Any

from portal.craft.messages import Message

LONGEST = 160
NUMBER = r"\d{1,4}(?:\.\d{1,3})?"
READ = "\x00"  # stands where something was read, so that what is glued to it is seen

_SIGNS = str.maketrans(
    {
        **dict.fromkeys("×✕✖⨯*хХχΧ", "X"),
        **dict.fromkeys("−–—‒‐‑﹣－", "-"),
        **dict.fromkeys('"″”“„', " INCH "),
        **dict.fromkeys("Ø⌀ø∅", " CB "),
        READ: " ",
    }
)
_COMMON_FRACTION = re.compile(r"(?<![\d./])(\d{1,2})[ -]([137])/([248])(?![\d.])")
# the comma before a bolt circle parts two values: ET35,5x112
_DECIMAL_COMMA = re.compile(r"(?<=\d),(?=\d)(?!\d{1,2}(?: ?X ?|[/-])\d{3})")
_FULL_STOP = re.compile(r"\.(?!\d)|(?<=[A-Z])\.")
_FRACTION_SIGN = re.compile(r"(\d*) ?([¼½¾⅛⅜⅝⅞])")


def plain(text: str) -> str:
    """Return `text` in capitals with one kind of ×, minus, decimal point and fraction."""
    text = _FRACTION_SIGN.sub(_from_sign, text[:LONGEST])
    text = unicodedata.normalize("NFKC", text).translate(_SIGNS).upper().translate(_SIGNS)
    text = _COMMON_FRACTION.sub(_from_fraction, text)
    text = _DECIMAL_COMMA.sub(".", text)
    return " ".join(_FULL_STOP.sub(" ", text).split())


def _from_sign(match: re.Match[str]) -> str:
    whole = int(match[1] or 0)
    return number(whole + unicodedata.numeric(match[2]))


def _from_fraction(match: re.Match[str]) -> str:
    over, under = int(match[2]), int(match[3])
    return number(int(match[1]) + over / under)


def figure(value: float) -> float:
    """Return a number within a message, at most three decimals."""
    return round(value, 3)


def number(value: float) -> str:
    """Format a number with at most three decimals and no trailing zero."""
    return re.sub(r"\.?0*$", "", f"{value:.3f}")


class Text:
    """A marking being parsed: each part that is understood is removed, the rest remains."""

    def __init__(self, text: str) -> None:
        self.whole = plain(text)
        self.left = self.whole

    def take(self, pattern: re.Pattern[str]) -> re.Match[str] | None:
        """Find `pattern`, remove it, and return the match."""
        match = pattern.search(self.left)
        if match:
            self.cut(match)
        return match

    def cut(self, match: re.Match[str]) -> None:
        """Remove a match of what is left now."""
        self.left = match.string[: match.start()] + READ + match.string[match.end() :]

    def glued(self) -> str | None:
        """Return letters or digits stuck to something that was read, as in `18O`, or None."""
        found = re.findall(rf"(?:(?<={READ})[^\W_]+|[^\W_]+(?={READ}))", self.left)
        return next((word for word in found if word != "X"), None)

    def unused(self) -> str:
        """Return what is left, in one line."""
        words = re.sub(rf"[{READ}()\[\],;:/]+", " ", self.left).split()
        return " ".join(word for word in words if word != "X" and any(map(str.isalnum, word)))


# letters that are often taken for a digit: 1B, l8, 2O
_MIXED = re.compile(r"(?=.*\d)(?=.*[OIQLSBZ])[OIQLSBZ0-9.]{2,6}")
_WORD_ENDS = re.compile(r"[^A-Z0-9.]+|X")


def mixed_number(text: str) -> str | None:
    """Return the first number in which a letter stands where a digit belongs, or None."""
    return next((word for word in _WORD_ENDS.split(text) if _MIXED.fullmatch(word)), None)


def beyond_limits(
    of: Any, limits: Mapping[str, Sequence[float]], says: Mapping[str, Message]
) -> list[Message]:
    """Return what is said of each figure of a marking that is beyond its limits, by its name."""
    found = []
    for name, sentence in says.items():
        value, (low, high) = getattr(of, name), limits[name]
        if value is not None and not low <= value <= high:
            found.append(Message(sentence.msgid, **dict.fromkeys(sentence.values, figure(value))))
    return found
