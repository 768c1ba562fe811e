"""How often the trade was asked, and what was stored was read, while something ran."""

import sys
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from types import CodeType, FrameType
from typing import Any

from portal.craft import appraise, declared, old_finishes
from portal.orders.planning import free_times
from portal.shop.assessment import assess, stored
from portal.shop.pricing import quote
from portal.shop.scheduling import promising, stations

ASSESSED = assess._assess.__wrapped__.__code__
WATCHED: dict[CodeType, str] = {
    appraise.appraise_set.__wrapped__.__code__: "sets",
    quote.quote.__code__: "quotes",
    old_finishes.route.__code__: "routes",
    stations.part_work.__code__: "works",
    promising.offers_on.__code__: "offers",
    free_times.FreeTimes.offers.__code__: "all times",
    declared.read_declared.__code__: "declared read",
    stored.read_assessment.__code__: "assessment read",
}


@contextmanager
def counted(orders: Counter[Any]) -> Iterator[Counter[str]]:
    """Count the calls of what is watched; and in `orders`, how often each is really assessed."""
    found: Counter[str] = Counter()

    def see(frame: FrameType, event: str, _arg: Any) -> None:
        if event != "call":
            return
        if frame.f_code in WATCHED:
            found[WATCHED[frame.f_code]] += 1
        elif frame.f_code is ASSESSED:
            orders[frame.f_locals["declared"], frame.f_locals["told_fitted"]] += 1

    sys.setprofile(see)
    try:
        yield found
    finally:
        sys.setprofile(None)


def forget() -> None:
    """Begin as a process does that has seen no order yet."""
    assess._assess.cache_clear()
    appraise.appraise_set.cache_clear()
