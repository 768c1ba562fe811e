"""Rim sizes as the standard has them: which codes exist, and what they measure in mm."""

from portal.craft.tables import toml_table

_RIMS = toml_table("rims.toml")


def is_code(code: float) -> bool:
    """Tell whether rims of this diameter code exist."""
    whole = code == int(code) and _RIMS["smallest_code"] <= code <= _RIMS["largest_code"]
    return whole or code in _RIMS["half_codes"]


def bead_seat_mm(code: float) -> float:
    """Return the specified rim diameter D in mm at the bead seat of a diameter code."""
    whole = "up_to_16" if code <= 16 else "from_17"
    row = whole if code == int(code) else "half_codes"
    return round(code * 25.4 + float(_RIMS["diameter_shift_mm"][row]), 1)


def usual_width(code: float) -> float:
    """Return the usual rim width of a diameter, in inches (common practice)."""
    usual = _RIMS["usual_width"]
    nearest = min(range(len(usual["codes"])), key=lambda i: abs(usual["codes"][i] - code))
    return float(usual["widths"][nearest])
