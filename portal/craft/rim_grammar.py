"""The grammar of rim markings: patterns, each of one part of a marking in its normal form.

Form after ISO 4000-2, clause 4: width code, flange, diameter code, hump; motorcycle rims
("17M/C x MT5.50") and lorry rims ("22.5 x 8.25", "7.00T x 20") as they are cast (from memory of
ETRTO). Labels in three languages stand in data/rims.toml.
"""

import re

from portal.craft.marks import NUMBER
from portal.craft.tables import toml_table

_RIMS = toml_table("rims.toml")


def _one_of(words: list[str]) -> str:
    return "|".join(re.escape(w).replace("_", r"\s?") for w in sorted(words, key=len, reverse=True))


FLANGE = _one_of(_RIMS["flanges"])
HUMP = _one_of(_RIMS["humps"])
START = r"(?<![\w.+-])"
END = r"(?![\d.])"
INCH = r"(?:\s*(?:INCH(?:ES)?|ZOLL|PULGADAS?|IN)(?![A-WYZ]))?"
_MOTORCYCLE = r"(?:\s*(?P<{}>M\s?/?\s?C)(?=[^A-Z]|X|$))?"
_MM = r"[+-]?\d{1,3}(?:\.\d{1,2})?"
_BEFORE = r"(?:(?P<{}>MT|WM)\s*)?"
_HUMP_END = r"(?![A-Z0-9])"
_A_HUMP = rf"\s*(?:{HUMP}){_HUMP_END}"
_BEHIND = rf"(?:(?!{_A_HUMP})\s*(?P<{{}}>{FLANGE})(?={_A_HUMP}|[^A-Z0-9]|X|R\s*\d|$))?"
_SEPARATOR = r"(?P<gap>\s*X\s*R?\s*|\s*R\s*|\s*[-/]\s*|\s+)"
_THIRD = rf"(?:\s*X\s*(?P<third>{_MM}){END}(?!\s*X))?"
SIZE = re.compile(
    rf"{START}{_BEFORE.format('pa')}(?P<a>{NUMBER}){_MOTORCYCLE.format('ma')}{_BEHIND.format('fa')}{INCH}"
    rf"{_SEPARATOR}"
    rf"{_BEFORE.format('pb')}(?P<b>{NUMBER}){END}{_MOTORCYCLE.format('mb')}"
    rf"{_BEHIND.format('fb')}{INCH}"
    rf"(?:\s*(?P<hump>{HUMP}){_HUMP_END})?{_THIRD}"
)
DIAMETER = re.compile(rf"{START}(?:R|RIM )?\s*(?P<b>{NUMBER}){END}{INCH}(?![A-Z0-9])")

_CIRCLE = r"(?:[89]\d|[1-9]\d\d)(?:\.\d{1,3})?"
# more than any rim's width or diameter in inches
_AFTER_CIRCLE = r"(?:3[5-9]|[4-9]\d|\d{3})(?:\.\d{1,3})?"
CIRCLE_LABEL = _one_of(_RIMS["labels"]["circle"])
_HOLES = _one_of(_RIMS["labels"]["holes"])
# what stands before a number of bolts: no digit, no point, no letter but an X
_BOLT_START = r"(?:(?<![\w.])|(?<=[\dC-]X)|(?<=\sX))"
BOLTS = re.compile(
    rf"(?:{_BOLT_START}|(?<![A-Z])(?:{CIRCLE_LABEL})\s*:?\s*)(?P<n>\d{{1,2}})\s*"
    # 6 / 285.75x10 is no circle of six
    rf"(?:X|[/-](?!\s*{_CIRCLE}\s*X\s*\d))\s*(?P<c>{_CIRCLE}){END}"
    rf"(?:\s*[X/]\s*(?P<also>{_AFTER_CIRCLE}){END}(?!\s*[X/]))?(?:\s*MM(?![A-Z]))?"
    rf"(?:\s*(?:{CIRCLE_LABEL})(?![A-Z]))?"
)
BOLTS_BACK = re.compile(
    rf"{START}(?P<c>{_CIRCLE})(?:\s*MM)?\s*[X/]\s*(?P<n>\d{{1,2}})(?![\w.])"
    rf"(?!\s*(?:X\s*\d|INCH|ZOLL|(?:{FLANGE})(?![A-Z\d]))|[/-]\d)"
)
BOLTS_NAMED = re.compile(
    rf"(?<![\w.])(?P<n>\d{{1,2}})[\s-]*(?:{_HOLES})(?![A-Z])\s*(?:(?:{CIRCLE_LABEL}|X|ON|AUF)"
    rf"(?![A-Z])\s*:?\s*)?(?P<c>{_CIRCLE}){END}(?:\s*MM(?![A-Z]))?"
    rf"(?:\s*(?:{CIRCLE_LABEL})(?![A-Z]))?"
)
HOLES = re.compile(rf"(?<![\w.])(?P<n>\d{{1,2}})[\s-]*(?:{_HOLES})(?![A-Z])")
BOLTS_INCH = re.compile(
    rf"(?<![\w.])(?P<n>\d{{1,2}})\s*X\s*(?P<c>\d(?:\.\d{{1,2}})?){END}{INCH}(?![A-Z])"
)

SIGNED_OFFSET = re.compile(rf"(?<![\w.])(?P<o>[+-]\d{{1,3}}(?:\.\d{{1,2}})?){END}(?:\s*MM)?")
BACKSPACE = re.compile(
    rf"(?:(?P<o>\d(?:\.\d{{1,2}})?){INCH}\s*(?:BS|BACK\s?SPAC\w*)(?![A-Z])"
    rf"|(?<![A-Z])(?:BS|BACK\s?SPAC\w*)\s*[:=]?\s*(?P<p>\d(?:\.\d{{1,2}})?){END}{INCH})"
)
BARE = re.compile(r"(?<![\w.+-])(?P<v>\d{2,3}(?:\.\d{1,3})?)(?![\w.°%])(?:\s*MM(?![A-Z]))?")
LABELLED_LETTERS = re.compile(
    r"(?<![A-Z])(?:ET|IS|CB) ?[+-]?(?=[OILSBZ]*\d)[OILSBZ0-9.]{2,5}(?![A-Z])"
)
HUMP_ALONE = re.compile(rf"(?<![A-Z0-9])(?P<h>{HUMP})(?![A-Z0-9+])")
PIECES = re.compile(r"(?<![\w.])([23])[ -]?(?:PIECE|PCS?|PART)(?![A-Z])|MULTI[ -]?PIECE")
# a number that could be a rim's width, with or without a letter that we don't know
WIDTH_LIKE = re.compile(rf"(?<![\w.+-])(?P<v>\d{{1,2}}(?:\.\d{{1,2}})?){END}\s?[A-Z]{{0,3}}(?!\w)")
GLUED_LABEL = re.compile(
    rf"(?<=[\d+])(?=(?:{_one_of(_RIMS['labels']['offset'])}|{CIRCLE_LABEL}|"
    rf"{_one_of(_RIMS['labels']['bore'])})\s*[:=]?\s*[+-]?\d)"
)
LABEL = re.compile(
    "(?<![A-Z])(?:"
    + "|".join(f"(?P<{kind}>{_one_of(_RIMS['labels'][kind])})" for kind in ("offset", "bore"))
    + f"|(?P<circle>{CIRCLE_LABEL}))(?![A-Z])"
)
