"""Where a part hangs and is earthed while it is coated, and the mark that the hook leaves."""

from collections.abc import Mapping
from typing import Any

from portal.craft.messages import Message
from portal.craft.parts import PartKind, Titled
from portal.craft.tables import sentence, toml_table


class HangAt(Titled):
    """Where the hook goes. The title follows "Hang:" on the floor's card."""

    BOLT_HOLE = "bolt_hole", "Bolt hole or centre bore"
    BOLT_HOLE_CALIPER = "bolt_hole_caliper", "Mounting hole"
    BEARING_TUBE = "bearing_tube", "Head tube or bottom bracket"
    TUBE_END = "tube_end", "One end"
    EDGE = "edge", "Hole or edge"
    INSIDE = "inside", "Hole, inside or back"
    FIXING = "fixing", "Fixing or hinge hole"
    UNDERNEATH = "underneath", "Under the seat or top"
    HIDDEN = "hidden", "Where nobody sees it: ask the customer"


_ROWS: Mapping[PartKind, Mapping[str, Any]] = {
    PartKind(kind): row for row in toml_table("hanging.toml")["hang"] for kind in row["kind"]
}


def hang_at(kind: PartKind) -> HangAt:
    """Return where a part of this kind hangs."""
    return HangAt(_ROWS[kind]["at"])


def hanging_mark(kind: PartKind) -> Message:
    """Return where a part of this kind hangs and the mark that stays, as a customer reads it."""
    return sentence(_ROWS[kind]["says"])


def mark_seen(kind: PartKind) -> bool:
    """Return whether the mark stays in sight when the part is in use again."""
    return bool(_ROWS[kind].get("seen"))
