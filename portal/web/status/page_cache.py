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
from portal.web.kit.request_context import read_shop, unit

MOST = 1000  # at about 8 kB a page

Look = Callable[[str, Callable[[Standing], bool] | None], StatusPage | None]

Key = tuple[str, str, UnitSystem]
Cache = OrderedDict[Key, tuple[Standing, str]]


def page(token: str, look: Look, write: Callable[[StatusPage], str]) -> str:
    """Return the page behind a link: the cached one where it still holds, else a new one."""
    cache: Cache = current_app.extensions.setdefault("page_cache", OrderedDict())
    stands: list[Standing] = []
    # who reads depends on the shop, what stands does too: one snapshot for both
    with unit().read() as session:
        read_shop(session)
        key = (token.upper(), reader().language, reader().units)
        cached = cache.get(key)

        def known(standing: Standing) -> bool:
            stands.append(standing)
            return cached is not None and cached[0] == standing

        view = look(token, known)
    if view is None:
        assert cached is not None  # `known` said so
        return cached[1]
    html = write(view)
    if not view.open_findings:
        _keep(cache, key, (stands[0], html))
    return html


def _keep(cache: Cache, key: Key, one: tuple[Standing, str]) -> None:
    cache[key] = one
    cache.move_to_end(key)
    while len(cache) > MOST:
        cache.popitem(last=False)
