"""How long the trade's own sums take: a customer's page asks for them at every press."""

import timeit

from portal.craft.appraise import Practice, appraise, appraise_set
from portal.craft.geometry import surface
from portal.craft.parts import Bringing, Declared
from tests.craft.shelf import SHELF, wheels

PRACTICE = Practice(stock=SHELF, heat_limit_min_at_200=45)


def measure_craft() -> dict[str, float]:
    """Return ms for one appraisal of two sets (limit 5) and one area of a wheel (limit 1)."""
    order = Declared(sets=(wheels(), wheels(key="B")), bringing=Bringing.COMPLETE)
    part_set = wheels()

    def anew() -> None:
        appraise_set.cache_clear()
        appraise(order, PRACTICE)

    appraisal = min(timeit.repeat(anew, number=10, repeat=5)) / 10
    area = min(timeit.repeat(lambda: surface(part_set), number=50, repeat=5)) / 50
    return {"appraisal_ms": round(1000 * appraisal, 2), "area_ms": round(1000 * area, 3)}
