"""Tyres marked without a height, such as 165 R13: their overall diameters in a standard's table."""

from functools import cache

from portal.craft.parts import Tyre
from portal.craft.tables import csv_table, toml_table

FULL_PROFILE = float(toml_table("tyres.toml")["limits"]["full_profile_aspect"])


@cache
def _sizes() -> dict[tuple[float, float], int]:
    rows = csv_table("full_profile.csv")
    return {(float(row["width"]), float(row["rim"])): int(row["mm"]) for row in rows}


def tabled_mm(tyre: Tyre) -> int | None:
    """Return the overall diameter of a full-profile size that UN R30 lists, in mm."""
    if tyre.aspect != FULL_PROFILE or tyre.width_mm is None:
        return None
    return _sizes().get((tyre.width_mm, tyre.rim_code))
