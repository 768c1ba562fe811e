"""The roles of staff. Pages and use cases both ask here."""

from portal.craft.parts import Titled


class Role(Titled):
    """What a person may do; each role includes those before it."""

    FLOOR = "floor", "Floor"
    COUNTER = "counter", "Counter"
    OFFICE = "office", "Office"

    def covers(self, needed: "Role") -> bool:
        """Return whether a person of this role may do what `needed` may."""
        order = list(Role)
        return order.index(self) >= order.index(needed)
