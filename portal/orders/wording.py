"""How an order and its parts are called in one line, on tags, lists and letters."""

from portal.craft.answers import Appraisal
from portal.craft.parts import Declared, PartKind, PartSet

ONE_OF = {
    PartKind.WHEEL: "Wheel",
    PartKind.CALIPER: "Brake caliper",
    PartKind.BUMPER: "Bumper",
    PartKind.TUBE: "Tube",
    PartKind.PLATE: "Plate",
    PartKind.BOX: "Box",
    PartKind.RAILING: "Railing",
    PartKind.FRAME: "Frame",
}


def size_of(part_set: PartSet) -> str:
    """Return a size as one says it: 18 × 8.5, or 600 × 80 × 80 mm."""
    if part_set.rim:
        return f"{part_set.rim.diameter_code:g} × {part_set.rim.width_code:g}"
    if part_set.size_mm:
        return " × ".join(f"{side:g}" for side in part_set.size_mm) + " mm"
    return ""


def label_of(part_set: PartSet) -> str:
    """Return what one part of a set is called on its tag."""
    return f"{ONE_OF[part_set.kind]} {size_of(part_set)}".strip()


def summary_of(declared: Declared, appraisal: Appraisal) -> str:
    """Return the whole order in one line: how many of what, in which colour."""
    colours = {}
    for answer in appraisal.sets:
        if answer.coats:
            role = [c for c in answer.coats.coats if c.role in ("colour", "face")]
            colours[answer.part_set.key] = (role or list(answer.coats.coats))[0].powder.name
    return "; ".join(
        ", ".join(bit for bit in (f"{s.count} × {label_of(s)}", colours.get(s.key, "")) if bit)
        for s in declared.sets
    )
