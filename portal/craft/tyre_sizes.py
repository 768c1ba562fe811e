"""Tyre sizes: overall diameters, and the rims that tyres are measured on."""

from dataclasses import dataclass
from functools import cache

from portal.craft.full_profile import tabled_mm
from portal.craft.messages import CraftError, Message
from portal.craft.parts import Tyre
from portal.craft.tables import csv_table, toml_table

_TYRES = toml_table("tyres.toml")


@dataclass(frozen=True, slots=True)
class CodeSize:
    """A tyre whose width is a code in inches: overall diameter in mm, measuring rim in inches."""

    mm: int
    rim_width: float


@cache
def _code_sizes() -> dict[tuple[float, float], CodeSize]:
    return {
        (float(row["width"]), float(row["rim"])): CodeSize(int(row["mm"]), float(row["rim_width"]))
        for row in csv_table("width_code_tyres.csv")
    }


def has_width_code(tyre: Tyre) -> bool:
    """Return whether a tyre's width is a code in inches and its height is not marked: 5.60-15."""
    return tyre.width_in is not None and tyre.overall_in is None


def is_tabled(tyre: Tyre) -> bool:
    """Return whether a standard lists the diameter of a tyre whose height is not marked."""
    return tabled_mm(tyre) is not None or _code_size(tyre) is not None


def _code_size(tyre: Tyre) -> CodeSize | None:
    return _code_sizes().get((tyre.width_in or 0, tyre.rim_code)) if has_width_code(tyre) else None


def rim_diameter_for_tyre_mm(code: float) -> int:
    """Return the nominal rim diameter d of tyre sizes in mm (25.4 × code, rounded; UN R30)."""
    return int(code * 25.4 + 0.5)


def tyre_diameter_mm(tyre: Tyre) -> float:
    """Return the design overall diameter in mm after UN R30 and R54.

    The table's where it lists the size, else d + 2H with H to the whole mm.
    """
    if tyre.overall_in is not None:
        return tyre.overall_in * 25.4
    if tyre.width_in is not None:
        return _code_diameter_mm(tyre, tyre.width_in)
    if tyre.width_mm is None or tyre.aspect is None:
        raise CraftError(Message("Enter the tyre's width and height, such as 225/45."))
    tabled = tabled_mm(tyre)
    if tabled is not None:
        return float(tabled)
    height = int(tyre.width_mm * tyre.aspect / 100 + 0.5)
    return float(rim_diameter_for_tyre_mm(tyre.rim_code) + 2 * height)


def _code_diameter_mm(tyre: Tyre, width_in: float) -> float:
    tabled = _code_size(tyre)
    if tabled:
        return float(tabled.mm)
    height = int(width_in * 25.4 * _TYRES["width_code"]["aspect"] / 100 + 0.5)
    return float(rim_diameter_for_tyre_mm(tyre.rim_code) + 2 * height)


def measuring_rim(tyre: Tyre) -> tuple[float, float, float]:
    """Return (measuring, narrowest, widest) rim width in inches for a tyre.

    The ratios reproduce published measuring rims; the range around them catches typing errors and
    is no fitter's table (see data/tyres.toml).
    """
    tabled = _code_size(tyre)
    if has_width_code(tyre):
        bands = _TYRES["width_code"]["measuring_rim"]
        band = next(b for b in bands if (tyre.width_in or 0) >= b["from_width"])
        section = tyre.width_in or 0
    elif tyre.width_in is not None:
        band, section = _TYRES["flotation"], tyre.width_in
    else:
        band = next(b for b in _TYRES["measuring_rim"] if (tyre.aspect or 0) >= b["from_aspect"])
        section = (tyre.width_mm or 0) / 25.4
    ideal = tabled.rim_width if tabled else int(section * band["ratio"] * 2 + 0.5) / 2
    return (ideal, ideal - band["down"], ideal + band["up"])
