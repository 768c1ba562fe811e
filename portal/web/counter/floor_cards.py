"""The cards of the floor as HTML, each written once for what it shows and who reads it.

Most cards are the same from one page to the next, and to write them is most of what a page costs.
The key is all that a card shows, so one that has changed in anything is written anew.
"""

from collections.abc import Callable
from functools import lru_cache, partial
from typing import NamedTuple

from flask import get_template_attribute

from portal.orders.production.bunches import Bunch
from portal.orders.production.floor_card import FloorCard
from portal.orders.production.floor_view import FloorView
from portal.orders.production.groups import Group
from portal.render.reader import Reader
from portal.shop.route import PartStage
from portal.web.kit.i18n.languages import reader

TEMPLATE = "counter/_group.html"
MOST_KEPT = 3000  # of some 4 kB each


class CardHtml(NamedTuple):
    """A card in two pieces: the page's own fields of its form stand between them."""

    above: str
    below: str


def of_page(
    view: FloorView, opened: int | None, at: PartStage | None
) -> Callable[[Group, Bunch], CardHtml]:
    """Return what writes the cards of a page, on which the card of part `opened` is open."""
    whose = reader()

    def card_of(one: Group, bunch: Bunch) -> CardHtml:
        # only a test leads back to the page; other cards are the same at every station
        back = f"floor:{at or ''}" if one.tests else ""
        opens, named = opened == one.parts[0].id, bunch.coat is not None
        return _written(view.card(one), whose, named=named, opened=opens, back=back)

    return card_of


@lru_cache(maxsize=MOST_KEPT)
def _written(card: FloorCard, _reader: Reader, *, named: bool, opened: bool, back: str) -> CardHtml:
    macro = partial(get_template_attribute, TEMPLATE)
    return CardHtml(macro("above")(card, named, opened), macro("below")(card, back))
