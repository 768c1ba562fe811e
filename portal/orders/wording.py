"""How an order and its parts are called in one line, on tags, lists and letters."""

from collections.abc import Mapping
from typing import Any

from portal.craft.answers import Appraisal
from portal.craft.part_names import ONE_OF
from portal.craft.parts import Declared, PartSet
from portal.craft.say import Said
from portal.shop.keeping import told


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


def finding_says(says: str, change: Mapping[str, Any]) -> str:
    """Return what a finding says as sentences that can be told in any language.

    One that was kept before its sentences were is returned as it stands.
    """
    kept = {f"s{n}": told(sentence) for n, sentence in enumerate(change.get("says", ()))}
    return Said(" ".join(f"{{{name}}}" for name in kept), kept) if kept else says
