"""A cache of rendered status pages, valid as long as nothing they depend on has changed.

A waiting customer reloads the same page again and again. Two small statements ask the database each
time whether the page still holds; only rendering is saved. Pages with a form are never cached:
their tokens belong to one reader.
"""

from collections import OrderedDict
from collections.abc import Callable

from flask import current_app

from portal.craft.quantities import UnitSystem
from portal.orders.customer.status_view import Standing, StatusPage
from portal.web.kit.i18n.languages import reader

MOST = 1000  # at about 8 kB a page

Look = Callable[[str, Callable[[Standing], bool] | None], StatusPage | None]

Key = tuple[str, str, UnitSystem]
Shelf = OrderedDict[Key, tuple[Standing, str]]


def page(token: str, look: Look, write: Callable[[StatusPage], str]) -> str:
    """Return the page behind a link: the kept one where it still holds, else a new one."""
    key = (token.upper(), reader().language, reader().units)
    shelf: Shelf = current_app.extensions.setdefault("kept_pages", OrderedDict())
    held = shelf.get(key)
    stands: list[Standing] = []

    def known(standing: Standing) -> bool:
        stands.append(standing)
        return held is not None and held[0] == standing

    view = look(token, known)
    if view is None:
        assert held is not None  # `known` said so
        return held[1]
    html = write(view)
    if not view.open_findings:
        _keep(shelf, key, (stands[0], html))
    return html


def _keep(shelf: Shelf, key: Key, one: tuple[Standing, str]) -> None:
    shelf[key] = one
    shelf.move_to_end(key)
    while len(shelf) > MOST:
        shelf.popitem(last=False)
