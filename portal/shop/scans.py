"""What a scanner typed: a status link, a job code, a part's paper tag, a bag, a station, a tag.

A hand scanner is a keyboard. Set to one country's layout on a device set to another, it turns `:`
and `/` into something else and may swap letters; the readings below try the common layouts instead
of asking anybody to set the scanner up anew. Nothing is looked up here: a reading lists candidates,
best first, and the caller takes the first that exists.
"""

import re
import unicodedata
from dataclasses import dataclass
from enum import StrEnum

from portal.shop.codes import BASE32, BODY, TOKEN_LENGTH, CodeReading, normalise, read_code
from portal.shop.route import SCANNED_TO

# a scanner typing US keys on a German or a French layout, undone (letters and digits alone)
QWERTZ = str.maketrans("YZyz", "ZYzy")
AZERTY = str.maketrans(
    "AQZWaqzw&é\"'(-è_çà?)",
    "QAWZqawz1234567890M-",  # shift+M on a US board is ? on a French one
)
# the point of a gauge, which no other reading needs
AZERTY_POINT = AZERTY | str.maketrans(":", ".")
LAYOUTS = (QWERTZ, AZERTY)
BAG = r"(.*[0-9A-Z])[^0-9A-Z]B0?([1-9][0-9]?)"
LONGEST = 400
THICKEST_UM = 2000.0


class Kind(StrEnum):
    """What a scan looks like before anything is looked up."""

    NOTHING = "nothing"
    LINK = "link"
    STATION = "station"
    CODE = "code"
    MISTYPED = "mistyped"
    TAG = "tag"
    BAG = "bag"
    SHELF = "shelf"
    WORDS = "words"


@dataclass(frozen=True, slots=True)
class Scan:
    """A reading: what it looks like, candidates to look up, and the words to search for.

    `part` is the number of the part when a paper tag was read, else 0; `bag` the label of a
    hardware bag.
    """

    kind: Kind
    text: str
    candidates: tuple[str, ...] = ()
    part: int = 0
    bag: str = ""


def read_scan(typed: str) -> Scan:
    """Classify `typed`. Bounded, total, and never an error: the fallback is WORDS."""
    text = _plain(typed)
    if not text:
        return Scan(Kind.NOTHING, "")
    readings = (_link, _station, _shelf, _bag, _code, _tag)
    found = (read(text) for read in readings)
    return next(filter(None, found), Scan(Kind.WORDS, text))


def tag_number(typed: str) -> str:
    """Return the number of a durable tag in its normal form, or "" when it is none.

    `#0103`, `t-103` and `103` are the same tag. At most five digits, so that no telephone number is
    taken for a tag.
    """
    found = re.fullmatch(r"[Tt#]?[^0-9A-Za-z]?0*([0-9]{1,5})", typed.strip())
    return found[1] if found else ""


def film_reading(typed: str) -> str:
    """Return a film reading in µm as a gauge types it, or "" when it is none.

    A number above 0 and up to `THICKEST_UM`, its decimals behind a point or a comma, with or
    without the unit. A leading zero is a tag's (`0103`), not a gauge's.
    """
    text = _plain(typed)
    if not re.search("[0-9]", text):  # without shift a French keyboard writes signs for digits
        text = text.translate(AZERTY_POINT)
    found = re.fullmatch(r"((?:0|[1-9][0-9]{0,3})(?:[.,][0-9]{1,3})?) ?(?:[µμu]m)?", text, re.I)
    in_range = found and 0 < float(found[1].replace(",", ".")) <= THICKEST_UM
    return found[1] if found and in_range else ""


def _plain(typed: str) -> str:
    return " ".join(unicodedata.normalize("NFKC", typed[:LONGEST]).split())


def _link(text: str) -> Scan | None:
    # …/J/<26 characters>: the slashes may have become anything, the letters may be lower case
    found = re.search(
        rf"[^0-9A-Za-z]J[^0-9A-Za-z]{{1,3}}(\S{{{TOKEN_LENGTH}}})\S{{0,12}}$", text, re.I
    )
    if not found:
        return None
    tail = found[1]
    tried = (tail.upper(), *(tail.translate(layout).upper() for layout in LAYOUTS))
    tokens = tuple(dict.fromkeys(t for t in tried if set(t) <= set(BASE32)))
    return Scan(Kind.LINK, text, tokens) if tokens else None


def _station(text: str) -> Scan | None:
    # the label on a station reads AT-BLAST; the dash is ß on a German keyboard
    for layout in ({}, *LAYOUTS):
        found = re.fullmatch(r"AT.([A-Z]+)", text.translate(layout), re.IGNORECASE)
        if found and found[1].lower() in {s.value for s in SCANNED_TO}:
            return Scan(Kind.STATION, text, (found[1].lower(),))
    return None


def shelf_place(typed: str) -> str:
    """Return the place on a shelf's label (`SHELF-A3` → `A3`), or "" when it is none.

    No Y and no Z: keyboards swap them.
    """
    for layout in ({}, *LAYOUTS):
        found = re.fullmatch(r"SHELF.([A-X]{0,2}[0-9]{1,3})", typed.translate(layout), re.I)
        if found:
            return found[1].upper()
    return ""


def _shelf(text: str) -> Scan | None:
    place = shelf_place(text)
    return Scan(Kind.SHELF, text, (place,)) if place else None


def _bag(text: str) -> Scan | None:
    # the label on a hardware bag reads 4HX7-M3K2-B1
    labels = [
        (read_code(found[1]), f"B{int(found[2])}")
        for layout in ({}, *LAYOUTS)
        if (found := re.fullmatch(BAG, text.translate(layout), re.IGNORECASE))
    ]
    good = [(code, bag) for (reading, code), bag in labels if reading is CodeReading.CODE]
    if not good:
        return None
    codes = tuple(dict.fromkeys(code for code, _ in good))
    return Scan(Kind.BAG, text, codes, bag=good[0][1])


def _code(text: str) -> Scan | None:
    readings = [_code_and_part(text.translate(layout)) for layout in ({}, *LAYOUTS)]
    good = [(code, part) for reading, code, part in readings if reading is CodeReading.CODE]
    codes = tuple(dict.fromkeys(code for code, _part in good))
    plain, _body, part = readings[0]
    if plain is CodeReading.MISTYPED:
        # one look-up is tried before it is called mistyped: a layout may have swapped two keys
        return Scan(Kind.MISTYPED, text, codes, part)
    return Scan(Kind.CODE, text, codes, good[0][1]) if good else None


def _code_and_part(text: str) -> tuple[CodeReading, str, int]:
    body, part = _without_part(text)
    return (*read_code(body), part)


def _without_part(text: str) -> tuple[str, int]:
    """Split the part's number off a paper tag: `4HX7-M3K2-1`, `4HX7M3K2/01`, `4HX7M3K2.1`."""
    found = re.fullmatch(r"(.*[0-9A-Za-z])[^0-9A-Za-z]([0-9]{1,2})", text)
    if found and len(normalise(found[1])) == BODY + 1:
        return found[1], int(found[2])
    found = re.fullmatch(r"([0-9A-Za-z]{8})([0-9]{2})", text)
    if found and read_code(found[1])[0] is CodeReading.CODE:
        return found[1], int(found[2])
    return text, 0


def _tag(text: str) -> Scan | None:
    # without shift the digits of a French keyboard are signs
    number = tag_number(text) or tag_number(text.translate(AZERTY))
    return Scan(Kind.TAG, text, (number,)) if number else None
