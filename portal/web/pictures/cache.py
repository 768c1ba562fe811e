"""A cache of drawings by language and units."""

from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import TypeVar

from flask import current_app

from portal.web.kit.i18n.languages import reader

MOST = 512
Drawn = TypeVar("Drawn")


def cached(key: Hashable, draw: Callable[[], Drawn]) -> Drawn:
    """Return what `draw` draws, from the cache where it is there already.

    A drawing has ids of its own, so one key must not be shown twice on one page.
    """
    cache: OrderedDict[Hashable, Drawn] = current_app.extensions.setdefault(
        "drawings", OrderedDict()
    )
    whole = (key, reader().language, reader().units)
    if whole not in cache:
        cache[whole] = draw()
        if len(cache) > MOST:
            cache.popitem(last=False)
    return cache[whole]
