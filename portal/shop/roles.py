"""What a member of staff may do. Pages and verbs both ask here."""

from portal.craft.parts import Titled


class Role(Titled):
    """What a person may do; each role may also do what those before it may."""

    FLOOR = "floor", "Floor"
    COUNTER = "counter", "Counter"
    OFFICE = "office", "Office"

    def covers(self, needed: "Role") -> bool:
        """Whether a person of this role may do what `needed` may."""
        order = list(Role)
        return order.index(self) >= order.index(needed)
