"""No word of a customer's page comes from anywhere but the catalogue.

A language is invented in which every sentence is the English one in ⟦brackets⟧; what a page
shows outside of them was never drawn for translation.
"""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any
from xml.etree.ElementTree import Element

import pytest
import sqlalchemy as sa
from babel import Locale
from flask.testing import FlaskClient

from portal.craft.sources import subjects
from portal.notices.letter_examples import example
from portal.notices.letters import write
from portal.notices.sender import sender_of
from portal.orders.counter import hand_back, receipts
from portal.shop.route import PartStage
from portal.shop.shop import read_shop
from portal.shop.states import LetterKind
from portal.store.tables import Customer
from tests import busy_day
from tests.browser.layout import pages
from tests.browser.layout.house import Browser, furnished
from tests.conftest import START, an_app
from tests.factories import PAINTED, TWO_COATS, a_booked_job, a_job_at
from tests.orders.test_issuing import FIRM, give_back, papers, pay
from tests.page import Page, checked_client, page_of
from tests.quick import few, is_quick
from tests.readers import english
from tests.web.invented import WORD, outside, words_of
from tests.web.walk import Customer as Walker

SHOWN = ("alt", "title", "placeholder", "aria-label")
# what the people of the catalogue's works have typed
PEOPLE = (
    "Alex Thorne, Ash Wren-Fairbairn, Billie Marsh, Bo Sallow, Ellis Grange, Jo Bramble, "
    "Jo Fennimore, Kit "
    "Hollow, Lou Pennant, Mika Aldous, Noor Abel, Remy Oakes, Sasha Quill, Toni Larkspur, "
    "Wilhelmina Featherstonehaugh-Llanfairpwllgwyngyll, Ansel, Odd, odd, Tamsin, tamsin, Wren, "
    "wren, Arrives, Opens, Waits, Jo Bramble, Halden Garage, Order, "
    f"{' '.join((*busy_day.FIRST, *busy_day.SURNAMES))}"
)
SAID = (
    "4 sensors, 4 centre caps. The marking reads 8Jx18 H2. Can you coat the inside of the rims "
    "too? We talked. Yes. It is part of the price. change given wrongly, original, satin, four, "
    "ultraviolet. May I come an hour later? At ten?"
)
# pages that show what was sent or issued, in the language of whoever got it
SENT = {"letters", "letter", "receipt"}
TYPED = set(WORD.findall(f"{PEOPLE} {SAID} {'W' * 40}"))
# the names of countries come from CLDR, as those of days and months do
COUNTRIES = set(WORD.findall(" ".join(map(str, Locale("de").territories.values()))))


@pytest.fixture
def app(invented, settings, clock):
    with an_app(settings, clock) as app:
        yield app


def shown(element: Element) -> Iterator[str]:
    """Everything that a person reads or hears of an element, piece by piece."""
    if not isinstance(element.tag, str) or element.tag in ("script", "style", "textarea"):
        return
    if element.get("lang", "de") != "de":  # it says itself that it is in another language
        return
    yield from (element.get(name, "") for name in SHOWN)
    yield element.text or ""
    for child in element:
        yield from shown(child)
        yield child.tail or ""


def sources() -> set[str]:
    """The words of what was read, which stand as they are."""
    rows = [row for one in subjects("GB") for row in one.rows]
    return {word for row in rows for word in WORD.findall(english(row.source))}


def test_the_check_can_fail() -> None:
    assert outside("⟦A wheel in ⟦Satin⟧⟧, 4 × Wheels M32M-DAMA", {"Brown"}) == ["Wheels"]
    assert not outside("⟦A wheel in ⟦Satin⟧⟧ Brown M32M-DAMA RAL 7016", {"Brown"})


def test_every_word_of_the_customers_pages_comes_from_the_catalogue(
    app, shop_text: str, powders_text: str
) -> None:
    client, unit = checked_client(app), app.extensions["unit"]
    client.set_cookie("lang", "de")
    pages = {path: client.get(path) for path in ("/", "/why-powder", "/figures", "/o/NOBODY/parts")}
    customer = Walker(client)
    for step in ("parts", "on-them", "comes-off", "finish", "day", "you", "read-back"):
        customer.walk_to(step)
        pages[step] = customer.at
    booked = a_booked_job(unit, PAINTED, bringing="complete")
    done = a_job_at(unit, PartStage.DONE, TWO_COATS)
    for job in (booked, done):
        for more in ("", "/slip", "/tags", "/price", "/inspection"):
            pages[f"{job.code}{more}"] = client.get(f"/J/{job.token}{more}")
    known = words_of(shop_text, powders_text)
    # names of standards and of what was read stand as they are
    works = {
        word for s in subjects("GB") for r in s.rows for word in WORD.findall(english(r.source))
    }
    found = {
        f"{name}: {word} in “{' '.join(text.split())[:80]}”"
        for name, page in pages.items()
        for text in shown(page_of(page).one("body"))
        for word in outside(text, known | works if name == "/figures" else known)
    }
    assert not found, "\n".join(sorted(found))


def test_every_word_of_every_page_in_every_state_comes_from_the_catalogue(
    app, clock, monkeypatch, pytestconfig, shop_text: str, powders_text: str
) -> None:
    def in_german(browser: Browser, *args: Any, **kwargs: Any) -> None:
        FlaskClient.__init__(browser, *args, **kwargs)
        browser.set_cookie("lang", "de")

    monkeypatch.setattr(Browser, "__init__", in_german)
    works = furnished(app, clock)
    known = words_of(shop_text, powders_text) | TYPED | COUNTRIES
    found = set()
    for name in few(pages.names()) if is_quick(pytestconfig) else pages.names():
        if name in SENT:
            continue
        seen = pages.reach(pages.STATES[name], works)
        assert isinstance(seen, pages.Shown), f"{name}: {seen}"
        own = known | sources() if seen.path.startswith("/figures") else known
        for text in shown(Page(seen.html).one("body")):
            for word in outside(text, own):
                found.add(f"{name}: {word} in “{' '.join(text.split())[:80]}”")
    assert not found, f"{len(found)}\n" + "\n".join(sorted(found))


def test_every_word_of_a_receipt_comes_from_the_catalogue(app, shop_text, powders_text) -> None:
    unit = app.extensions["unit"]
    job = a_job_at(unit, PartStage.DONE, PAINTED)
    hand_back.make_ready(unit, job.job_id, who=None)
    german = sa.update(Customer).values(locale="de")
    unit.write(lambda session: session.execute(german))
    pay(unit, job, 6000)
    receipts.make_out_to(unit, job.job_id, FIRM, who=None)
    give_back(unit, job, paid_minor=0, how=None, owing_because="later")
    known = (
        words_of(shop_text, powders_text)
        | COUNTRIES
        | {"Ltd", "Sort", "code", "account"}
        | set(WORD.findall(repr(FIRM)))
    )
    client = checked_client(app)
    client.set_cookie("lang", "de")
    for row, _ in papers(unit, job):
        page = client.get(f"/J/{job.token}/receipts/{row.number}")
        said = [text for text in shown(page_of(page).one("body")) if outside(text, known)]
        assert not said, row.number


@pytest.mark.usefixtures("invented")
def test_every_word_of_every_letter_comes_from_the_catalogue(shop_text, powders_text) -> None:
    shop = read_shop(shop_text, powders_text)
    known = words_of(shop_text, powders_text) | {"Robin", "Example", "Order"}
    known |= {"news", "prepare"}  # ends of addresses
    for kind in LetterKind:
        letter = replace(example(kind, sender_of(shop, "de"), "GBP", START), locale="de")
        written = write(letter)
        own = ("times", "link", "question", "asked", "answer")
        text = f"{written.subject}\n{written.text}"
        for typed in filter(None, (getattr(letter, name, "") for name in own)):
            text = text.replace(typed, "")
        assert not outside(text, known), kind
