"""The shop's powders nearest to a RAL number or a screen colour that the customer names."""

from dataclasses import dataclass

from portal.craft.colours import Near, lab_of_hex, lab_of_ral, nearest
from portal.craft.parts import Powder

SHOWN = 3


@dataclass(frozen=True, slots=True)
class NearBy:
    """What was asked for, and the nearest powders, best first."""

    asked: str
    found: tuple[Near, ...]


def near_by(text: str, powders: tuple[Powder, ...]) -> NearBy:
    """Read '#383E42', '383e42', 'RAL 7016' or '7016'; raise CraftError for anything else."""
    tidy = text.strip().upper().replace(" ", "").removeprefix("RAL")
    if tidy.isdecimal() and len(tidy) == 4:
        return NearBy(f"RAL {tidy}", nearest(lab_of_ral(tidy), powders, SHOWN))
    code = "#" + tidy.removeprefix("#")
    return NearBy(code, nearest(lab_of_hex(code), powders, SHOWN))
