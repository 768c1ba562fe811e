"""Drawings that many readers see alike: drawn once for each language and each choice of units."""

from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import TypeVar

from flask import current_app

from portal.web.kit.i18n import measures
from portal.web.kit.i18n.languages import language

MOST = 512
Drawn = TypeVar("Drawn")


def kept(key: Hashable, draw: Callable[[], Drawn]) -> Drawn:
    """Return what `draw` draws, from the shelf where it stands there already.

    A drawing has ids of its own, so one key must not be shown twice on one page.
    """
    shelf: OrderedDict[Hashable, Drawn] = current_app.extensions.setdefault(
        "kept_drawings", OrderedDict()
    )
    whole = (key, language(), measures.chosen())
    if whole not in shelf:
        shelf[whole] = draw()
        if len(shelf) > MOST:
            shelf.popitem(last=False)
    return shelf[whole]
