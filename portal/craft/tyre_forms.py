"""The forms of tyre markings, each a pattern over a marking in its normal form.

ISO 4000-1 and UN R30 (225/45 R17), the older forms without a height (165 R13, 5.60-15), light and
heavy lorries (31x10.50R15LT, 11R22.5; UN R54), motorcycles (130/90-16, MT90B16, 4.10-18; UN R75).
"""

import re

from portal.craft.marks import NUMBER
from portal.craft.tables import toml_table

_START = r"(?<![\w.])"
_END = r"(?![\d.])"
_PREFIX = r"(?:(?P<prefix>HL|P|LT|ST|T|C)\s*)?"
_SPEED = r"(?P<speed>[JKLMNPQSTUHVWY])?"
_BUILD = rf"(?:{_SPEED}(?P<build>ZR|RF|R|D|B|-)\s*F?\s*|\s+|\s*/\s*)"
_SUFFIX = r"(?:\s*(?P<suffix>LT|ST|CP|C|M/C)(?![A-Z]))?"
_LETTERS = "|".join(toml_table("tyres.toml")["lettered_mm"])
_CODE = r"(?:1\d|2[0-4]|\d)(?:\.\d{1,2})?"
_RIM = rf"(?P<rim>{NUMBER}){_END}{_SUFFIX}"
METRIC, LOOSE = (
    re.compile(
        rf"{_START}{_PREFIX}(?P<width>{NUMBER}){between}(?P<aspect>{NUMBER})\s*{_BUILD}{_RIM}"
    )
    for between in (r"\s*/\s*", r"(?:\s*-\s*|\s+)")
)
FULL = re.compile(
    rf"{_START}{_PREFIX}(?P<width>\d{{3}})\s*{_SPEED}(?P<build>ZR|R|-)\s*"
    rf"(?P<rim>{NUMBER})(?![\d.-]){_SUFFIX}"
)
FLOTATION = re.compile(
    rf"{_START}{_PREFIX}(?P<overall>{NUMBER})\s*X\s*(?P<wide>{NUMBER})\s*(?P<build>ZR|R|D|B|-)\s*"
    rf"{_RIM}"
)
# the width is a code in inches: 5.60-15, 11R22.5, 3.00x19
WIDTH_CODE = re.compile(
    rf"{_START}{_PREFIX}(?P<wide>{_CODE})\s*{_SPEED}(?P<build>ZR|R|D|B|-|X)\s*{_RIM}"
)
# the width is a letter: MT90B16, MU85HB-16
LETTERED = re.compile(
    rf"{_START}(?P<prefix>{_LETTERS})\s*(?P<aspect>\d{{2}})\s*{_SPEED}(?P<build>ZR|R|D|B)?\s*-?\s*{_RIM}"
)
# the loose form comes last: 165-13 84 is a width, a rim and a load, not width, aspect and rim
FORMS = (METRIC, FLOTATION, FULL, LETTERED, WIDTH_CODE, LOOSE)
# what a second size in a marking looks like
SIZES = (METRIC, FLOTATION, FULL)

SERVICE = re.compile(
    r"(?<![A-Z0-9])(?P<open>\()?\s*(?P<load>\d{2,3})(?:\s*/\s*(?P<dual>\d{2,3}))?\s*"
    r"(?P<bracket>\()?(?P<symbol>[A-Z])\)?(?![A-Z0-9/])\s*\)?"
)
LOAD_ALONE = re.compile(r"(?<![A-Z0-9.])(?P<load>\d{2,3})(?:/(?P<dual>\d{2,3}))?(?![A-Z0-9.])")
EXTRA = re.compile(r"(?<![A-Z])(?:XL|EXTRA\s?LOAD|REINF(?:ORCED)?|RFD?(?!\s?\d))(?![A-Z])")
IDLE = re.compile(
    r"(?<![A-Z])(?:M ?[+&/]? ?S|3PMSF|TUBELESS|TL|TT|RADIAL|RUN ?FLAT|RFT|ROF|SSR|RSC|M/C"
    r"|LOAD RANGE [A-H]|\d{1,2} ?PR|DOT(?: ?\d{4})?)(?![A-Z0-9])"
)

# what only a tyre has: 225/45 R17, 165 R13, 33x12.5 R15, 11R22.5, 5.60-15, MT90B16; not the 112/66
# of a bolt circle and bore
_SIGNS = (
    r"\d{3} ?/ ?\d{2} ?(?:[A-Z]?Z?RF?|[BD-]|/)? ?F? ?\d{2}(?:\.5)?(?![\d.])",
    r"\d{3} ?[A-Z]?Z?R ?\d{2}(?![\d.])",
    r"\d\d5[ -]\d[05][ -]\d{2}(?![\d.])",
    r"\d\d5 ?- ?1[2-6](?![\d.])",
    r"\d{2}(?:\.\d+)? ?X ?\d{1,2}(?:\.\d+)? ?(?:LT)?Z?R ?\d{2}",
    r"\d{1,2}(?:\.\d{1,2})? ?R ?(?:17|19|22|24)\.5",
    r"\d{1,2}\.\d{2} ?[A-Z]?R ?\d{2}(?![\d.])",
    r"(?P<old>\d{1,2}\.\d{2} ?- ?\d{2})(?![\d.])",
    rf"(?:{_LETTERS}) ?\d{{2}} ?[A-Z]?(?:R|B|D|-) ?-?\d{{2}}(?![\d.])",
)
SIGN = re.compile(rf"(?<![\w.])(?:HL|P|LT|ST|T|C)? ?(?:{'|'.join(_SIGNS)})")
