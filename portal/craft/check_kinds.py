"""What the workshop tests on a part before it goes on, and what such a test can bring to light."""

from enum import StrEnum

from portal.craft.titled import Titled


class CheckKind(Titled):
    """A line of work that must be done, and recorded, because a customer was told of it.

    The rows of `data/checks.toml` have these keys; the order is that of the work.
    """

    LEAD = "lead", "Test for lead and chromate"
    CLOSED = "closed", "Look for closed parts"
    VENT = "vent", "Vent holes"
    TANK = "tank", "Gas-free certificate"
    SIZE = "size", "Size and weight"
    METAL = "metal", "Metal check"
    LAYERS = "layers", "Look at the old finish"
    PERMISSION = "permission", "The maker's permission"
    BEND = "bend", "Bend measured"
    RUN_OUT = "run_out", "Damage and run-out measured"
    BORES = "bores", "Look into the bores"
    REPAIR = "repair", "Crack repaired"
    THICKNESS = "thickness", "Metal to spare for diamond cutting"
    CRACKS = "cracks", "Look for cracks"
    RUST = "rust", "Look for rust pits"
    PLATING = "plating", "Look at the metal under the chrome"
    WELD = "weld", "Look at the old weld"
    SAMPLE = "sample", "Colour chosen from a sample"


class CheckResult(StrEnum):
    """What can be recorded of a check: the keys of the results in `data/checks.toml`.

    Besides, a check is open again (`REOPENED`), or the office let the part go on without it.
    """

    CLEAR = "clear"
    FOUND = "found"
    NONE = "none"
    OPEN = "open"
    SEALED = "sealed"
    SEEN = "seen"
    MISSING = "missing"
    FITS = "fits"
    ALUMINIUM = "aluminium"
    STEEL = "steel"
    MAGNESIUM = "magnesium"
    FACTORY_PAINT = "factory_paint"
    POWDER = "powder"
    LIQUID_PAINT = "liquid_paint"
    UNCLEAR = "unclear"
    WITHIN = "within"
    BENT = "bent"
    BEYOND = "beyond"
    CLEAN = "clean"
    SCORED = "scored"
    DONE = "done"
    CRACKED = "cracked"
    ENOUGH = "enough"
    THIN = "thin"
    CRACK = "crack"
    SOUND = "sound"
    PITTED = "pitted"
    SLAG = "slag"
    CHOSEN = "chosen"
    REOPENED = "reopened"
    WAIVED = "waived"


class Found(Titled):
    """What a test of ours has brought to light: it changes what can be done with the part."""

    LEAD = "lead", "Lead or chromate in the old finish"
    BENT = "bent", "Bent beyond the limit"
    SEALED = "sealed", "A closed hollow without a vent hole"
    NO_CERTIFICATE = "no_certificate", "No gas-free certificate"
    BORE = "bore", "A scored or rusty bore"
    CRACK = "crack", "A crack that is not repaired"
    NO_PERMISSION = "no_permission", "No permission from the maker"
    PITS = "pits", "Rust pits"
    THIN = "thin", "Too little metal for diamond cutting"
