"""The shop's own texts, and the documents that the office sees as sheets."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from portal.craft.parts import Effect, Powder
from portal.shop.documents import sheet
from portal.shop.own_words import OwnPlace, OwnText, missing, own_texts
from portal.shop.states import DocumentKind
from tests.readers import english

# -- the shop's own words ---------------------------------------------------------------------


def shop(**more) -> SimpleNamespace:
    ember = Powder("E", "Ember", (50, 0, 0), 80, Effect.SOLID)
    base = {
        "handling_note": "Ring the bell.",
        "letter_words": {"ready": "Bring a trolley.", "booked": "Ring the bell."},
        "stock": {"E": ember, "B": replace(ember, code="B", name="Jet black")},
        "locale": "en-GB",
        "translations": {},
    }
    return SimpleNamespace(**{**base, **more})


BELL = OwnText(OwnPlace.DROP_OFF, "Ring the bell.")
TROLLEY = OwnText(OwnPlace.LETTER, "Bring a trolley.", "ready")
EMBER = OwnText(OwnPlace.POWDER, "Ember", "E")
JET = OwnText(OwnPlace.POWDER, "Jet black", "B")


def test_each_text_of_the_shop_stands_once() -> None:
    assert own_texts(shop()) == (BELL, TROLLEY, EMBER, JET)
    silent = shop(handling_note="", letter_words={"booked": "Hello."})
    assert own_texts(silent) == (OwnText(OwnPlace.LETTER, "Hello.", "booked"), EMBER, JET)


def test_what_is_not_translated_is_named_by_language() -> None:
    """Jet black is RAL 9005, whose German name is official: nobody need translate it."""
    done = {"de": {"Ring the bell.": "Klingeln Sie.", "Ember": ""}}
    assert missing(shop(translations=done), ["en", "de", "es"]) == {
        "de": (TROLLEY, EMBER),
        "es": (BELL, TROLLEY, EMBER),
    }
    assert missing(shop(locale="de-DE"), ["de"]) == {}
    every = {one.text: "x" for one in own_texts(shop())}
    assert missing(shop(translations={"de": every}), ["de"]) == {}


# -- sheets -----------------------------------------------------------------------------------

SHEETS = {
    DocumentKind.PRICES: "Prices",
    DocumentKind.WEEK: "Opening hours",
    DocumentKind.STATIONS: "Stations",
    DocumentKind.PLACE: "Country and rules",
    DocumentKind.SHOP: "Your works",
    DocumentKind.INVOICING: "What stands on invoices",
}


@pytest.mark.parametrize("kind", SHEETS)
def test_a_sheet_has_its_title_and_the_keys_of_its_document(kind: DocumentKind) -> None:
    found = sheet(kind.value)
    assert found.label is not None
    assert (found.key, english(found.label.title)) == (kind.value, SHEETS[kind])
    assert found.keys


@pytest.mark.parametrize("kind", sorted(set(DocumentKind) - set(SHEETS)))
def test_what_is_no_sheet_is_refused(kind: DocumentKind) -> None:
    with pytest.raises(ValueError, match=f"^{kind} is no sheet$"):
        sheet(kind.value)
