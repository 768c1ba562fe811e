"""The kinds of rework; the route says where each begins."""

from portal.craft.titled import Titled


class Redo(Titled):
    """How a fault is put right; what the next hands do stands in `shop.faults`."""

    FURTHER_COAT = "further_coat", "One more coat"
    RUB_DOWN = "rub_down", "Rub down, one more coat"
    BAKE = "bake", "Bake again"
    BARE = "bare", "Coating off, all coats again"
    BLAST = "blast", "Blast again, all coats again"
