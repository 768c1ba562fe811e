"""What the shop wrote itself is read in the customer's language, or the office sees what lacks."""

import pytest
import sqlalchemy as sa

from portal.craft.messages import Message
from portal.orders.office import letter_words
from portal.orders.office.documents import newest, put_document
from portal.shop.own_words import missing
from portal.shop.pricing.quote_words import tax_said
from portal.shop.shop import LETTERS
from portal.shop.translations import TRANSLATIONS
from portal.store.tables import Letter
from tests.cast import COUNTER, OFFICE, sign_in
from tests.factories import TWO_COATS, WHEELS, a_booked_job
from tests.page import page_of
from tests.web import paper
from tests.web.walk import Customer

NOTE = "Ring the bell at the green door. We help you carry."


def put(unit, body) -> None:
    put_document(unit, TRANSLATIONS, body, expected_edition_id=newest(unit, TRANSLATIONS), who=None)


def shop_of(unit):
    with unit.read() as session:
        return unit.shop(session)


@pytest.mark.parametrize(
    ("language", "note", "colours", "tax"),
    [
        ("en", "Ring the bell", ("Jet black satin", "Ember bronze"), "VAT"),
        ("de", "Klingeln Sie", ("Tiefschwarz seidenglänzend", "Glutbronze"), "MwSt."),
        ("es", "Llame al timbre", ("Negro intenso satinado", "Bronce brasa"), "IVA"),
    ],
)
def test_the_slip_speaks_one_language(client, unit, language, note, colours, tax):
    job = a_booked_job(unit, WHEELS, TWO_COATS)
    client.set_cookie("lang", language)
    slip = page_of(client.get(f"/J/{job.token}/slip")).text
    pdf = " ".join(paper.text_of(client.get(f"/J/{job.token}/slip.pdf").data).split())
    for words in (note, *colours, tax):
        assert words in slip
        assert words in pdf
    others = {"VAT", "MwSt.", "IVA"} - {tax}
    assert not [one for one in others if one in slip]


def test_the_letter_has_colours_and_own_words_in_its_readers_language(app, client, unit):
    words = {"booked": "Park behind the hall."}
    letter_words.put_letter_words(unit, words, expected_edition_id=newest(unit, LETTERS), who=None)
    put(unit, {"de": {"Park behind the hall.": "Parken Sie hinter der Halle."}})
    client.set_cookie("lang", "de")
    Customer(client).walk_to("read-back").book()
    with unit.read() as session:
        letter = session.scalars(sa.select(Letter).where(Letter.kind == "booked")).one()
    assert "Parken Sie hinter der Halle." in letter.text
    assert "Tiefschwarz seidenglänzend" in letter.text
    assert "Park behind" not in letter.text


def test_the_page_of_letter_texts_says_which_language_lacks_one(app, client, unit):
    words = {"booked": "Park behind the hall."}
    letter_words.put_letter_words(unit, words, expected_edition_id=newest(unit, LETTERS), who=None)
    put(unit, {"de": {"Park behind the hall.": "Parken Sie hinter der Halle."}})
    text = page_of(sign_in(app, client, OFFICE).get("/office/letters/words")).text
    assert "Español is missing for: Park behind the hall." in text
    assert "Deutsch is missing" not in text


def test_the_office_is_told_what_is_missing_and_fills_it_in(app, client, unit):
    office = sign_in(app, client, OFFICE)
    put(unit, {"es": {NOTE: "Llame."}})
    page = office.get("/office/translations")
    told = page_of(page).text
    assert "Deutsch is missing for: Ring the bell at the green door. We help you carry." in told
    assert "Ember bronze" in told.partition("Deutsch is missing for:")[2]
    lacking = {own.text for own in missing(shop_of(unit), ["de"])["de"]}
    # RAL names are known in every language
    assert "Jet black satin" not in lacking
    saved = office.submit(page, **{"t0-de": "Klingeln Sie bitte."})
    assert saved.status_code == 303
    assert shop_of(unit).translations["de"][NOTE] == "Klingeln Sie bitte."
    assert shop_of(unit).translations["es"][NOTE] == "Llame."
    again = page_of(office.get("/office/translations")).text
    assert "Deutsch is missing for: Ring the bell" not in again


def test_a_shop_lacks_nothing_in_its_own_language(unit):
    assert "en" not in missing(shop_of(unit), ["en", "de", "es"])


def test_too_long_a_translation_is_refused_beside_its_field_and_kept(app, client, unit):
    office = sign_in(app, client, OFFICE)
    page = office.get("/office/translations")
    answer = office.submit(page, **{"t0-de": "x" * 601})
    assert answer.status_code == 422
    assert "x" * 601 in answer.get_data(as_text=True)


def test_only_the_office_translates(app, client):
    assert sign_in(app, client, COUNTER).get("/office/translations").status_code == 403


@pytest.mark.parametrize("name", ["VAT", "vat", "MwSt.", "USt", "IVA", "TVA"])
def test_a_value_added_tax_has_one_name_whatever_the_shop_calls_it(name):
    assert tax_said(name) == Message("VAT")


@pytest.mark.parametrize("name", ["GST", "Sales tax"])
def test_another_tax_keeps_its_name(name):
    assert tax_said(name) == name
