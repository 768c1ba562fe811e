"""No word of a customer's page comes from anywhere but the catalogue.

A language is invented in which every sentence is the English one in ⟦brackets⟧; what a page
shows outside of them was never drawn for translation.
"""

import re
import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element

import pytest
from babel.dates import get_day_names, get_month_names
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from flask.testing import FlaskClient

from portal.cli import main
from portal.cli.demo import PASSWORD, where_to_look
from portal.cli.opening import reader_of
from portal.craft.sources import subjects
from portal.craft.tables import csv_table
from portal.notices.letters import example, sender_of, write
from portal.render.appraisal_text import text_of
from portal.render.reader import reader_for
from portal.settings import read_settings
from portal.shop.appraisal import appraise_file
from portal.shop.route import PartStage
from portal.shop.shop import read_shop
from portal.shop.states import LetterKind
from tests.browser.layout import pages
from tests.browser.layout.house import Browser, furnished
from tests.conftest import SEED, START, an_app
from tests.factories import PAINTED, TWO_COATS, a_booked_job, a_job_at
from tests.house import catalogues
from tests.page import Page, checked_client, page_of
from tests.readers import english
from tests.web.walk import CONTACT, Customer

SHOWN = ("alt", "title", "placeholder", "aria-label")
WORD = re.compile(r"[^\W\d_]{3,}")
CODES = re.compile(
    r"\b[A-Z0-9]{4}-?[A-Z0-9]{4}(?:-\d+)?\b|\b[RV]\d{4}-[A-Z]\b|\bRAL \d{4}\b|\S+@\S*"
    r"|\bAT-[A-Z]+\b|\b[a-z_]+\.csv\b|\b[0-9a-f]{8}\b|\b(?:[A-Z2-7]{4} ){7}[A-Z2-7]{4}\b|g/cm³"
)
# the customer's and the shop's own words, and those of the test's parts
OWN = {
    "Robin",
    "Sample",
    "Brown",
    "estate",
    "Deutsch",
    "English",
    "Español",
    "VAT",
    "PDF",
    "GBP",
    "min",
}


# what the people of the catalogue's works have typed
PEOPLE = (
    "Alex Thorne, Ash Wren-Fairbairn, Billie Marsh, Bo Sallow, Ellis Grange, Jo Bramble, "
    "Jo Fennimore, Kit "
    "Hollow, Lou Pennant, Mika Aldous, Noor Abel, Remy Oakes, Sasha Quill, Toni Larkspur, "
    "Wilhelmina Featherstonehaugh-Llanfairpwllgwyngyll, Ansel, Odd, odd, Tamsin, tamsin, Wren, "
    "wren, Arrives, Opens, Waits, Jo Bramble"
)
SAID = (
    "4 sensors, 4 centre caps. The marking reads 8Jx18 H2. Can you coat the inside of the rims "
    "too? We talked. Yes. It is part of the price."
)
# pages that show letters as they were sent, in the language of whoever got them
SENT = {"letters", "letter"}
TYPED = set(WORD.findall(PEOPLE + SAID + "W" * 40))


@pytest.fixture(scope="module")
def brackets(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the invented language, whose sentences are drawn from the sources once."""
    invented = Catalog(locale="de", fuzzy=False)
    for one in catalogues.fresh():
        if one.id:
            both = isinstance(one.id, tuple)
            told = tuple(f"⟦{x}⟧" for x in one.id) if both else f"⟦{one.id}⟧"
            invented.add(one.id, told, context=one.context)
    folder = tmp_path_factory.mktemp("invented")
    home = folder / "de" / "LC_MESSAGES"
    home.mkdir(parents=True)
    with (home / "messages.mo").open("wb") as file:
        write_mo(file, invented)
    return folder


@pytest.fixture
def invented(brackets: Path, monkeypatch) -> None:
    monkeypatch.setattr("portal.render.catalogues.FOLDER", brackets)


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


def outside(text: str, known: set[str]) -> list[str]:
    """The words of a text that stand in no brackets and are nobody's own."""
    before = ""
    while before != text:
        before, text = text, re.sub(r"⟦[^⟦⟧]*⟧", " ", text)
    # a sentence with an element in it is seen in pieces
    text = re.sub(r"^[^⟦⟧]*⟧|⟦[^⟦⟧]*$", " ", text)
    return [word for word in WORD.findall(CODES.sub(" ", text)) if word not in known]


def words_of(shop_text: str, powders_text: str) -> set[str]:
    shop = read_shop(shop_text, powders_text)
    rows = [" ".join(line.split(",")[:2]) for line in powders_text.splitlines()[1:] if line]
    # colours have official names, and the shop's texts are its own, in every language
    colours = [row[name] for row in csv_table("ral.csv") for name in row if name == "de"]
    own = [text for one in shop.translations.values() for text in one.values()]
    texts = [shop.name, *shop.address, shop.handling_note, *rows, *own, *colours, *CONTACT.values()]
    days = [
        name
        for width in ("wide", "abbreviated")
        for form in ("format", "stand-alone")
        for names in (get_day_names, get_month_names)
        for name in names(width, form, locale="de").values()
    ]
    return OWN | {word for text in (*texts, *days) for word in WORD.findall(str(text))}


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
    customer = Customer(client)
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
    app, clock, monkeypatch, shop_text: str, powders_text: str
) -> None:
    def in_german(browser: Browser, *args: Any, **kwargs: Any) -> None:
        FlaskClient.__init__(browser, *args, **kwargs)
        browser.set_cookie("lang", "de")

    monkeypatch.setattr(Browser, "__init__", in_german)
    works = furnished(app, clock)
    known = words_of(shop_text, powders_text) | TYPED
    found = set()
    for name in pages.names():
        if name in SENT:
            continue
        seen = pages.reach(pages.STATES[name], works)
        assert isinstance(seen, pages.Shown), f"{name}: {seen}"
        own = known | sources() if seen.path.startswith("/figures") else known
        for text in shown(Page(seen.html).one("body")):
            for word in outside(text, own):
                found.add(f"{name}: {word} in “{' '.join(text.split())[:80]}”")
    assert not found, f"{len(found)}\n" + "\n".join(sorted(found))


@pytest.mark.usefixtures("invented")
def test_every_word_of_every_letter_comes_from_the_catalogue(shop_text, powders_text) -> None:
    shop = read_shop(shop_text, powders_text)
    known = words_of(shop_text, powders_text) | {"Robin", "Example"}
    for kind in LetterKind:
        letter = replace(example(kind, sender_of(shop, "de"), "GBP", START), locale="de")
        written = write(letter)
        asked = {letter.link, getattr(letter, "question", ""), getattr(letter, "answer", "")}
        text = f"{written.subject}\n{written.text}"
        for typed in asked - {""}:
            text = text.replace(typed, "")
        assert not outside(text, known), kind


@pytest.mark.usefixtures("invented")
@pytest.mark.parametrize("order", sorted((SEED / "orders").glob("*.toml")), ids=lambda o: o.stem)
def test_every_word_of_the_command_line_comes_from_the_catalogue(
    order, shop_text: str, powders_text: str
) -> None:
    found = appraise_file(order.read_text("utf-8"), shop_text, powders_text)
    known = words_of(shop_text, powders_text)
    typed = " ".join(
        f"{one.key} {one.note} {one.what} {one.rim_text}" for one in found.order.declared.sets
    )
    text = text_of(found, reader_for(found.shop, "de"))
    assert not outside(text, known | set(WORD.findall(typed)))


@pytest.fixture
def house(tmp_path: Path, sqlite_model: Path, monkeypatch) -> Path:
    """A folder with a shop's database, and an environment that says so."""
    shutil.copy(sqlite_model, tmp_path / "portal.sqlite3")
    for name in ("DATABASE_URL", "PORTAL_DEMO", "LC_ALL", "LC_MESSAGES"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("PORTAL_DATA", str(tmp_path))
    monkeypatch.setenv("LANG", "en_GB.UTF-8")
    answers = iter(["a long password", "another password"])
    monkeypatch.setattr("getpass.getpass", lambda asks: print(asks) or next(answers))
    return tmp_path


@pytest.mark.usefixtures("invented")
@pytest.mark.parametrize(
    ("code", "command"),
    [
        (0, "migrate"),
        (0, "shop"),
        (2, "shop none.toml"),
        (2, "shop {here}/wrong.toml"),
        (2, "person wren"),
        (0, "forecast"),
        (0, "sweep"),
        (0, "backup {here}/copy"),
        (2, "restore {here}/wrong.toml"),
        (1, "erase NONE"),
        (2, "deliver"),
    ],
)
def test_every_word_of_a_commands_answer_comes_from_the_catalogue(
    house: Path, capsys, monkeypatch, shop_text: str, code: int, command: str
) -> None:
    (house / "wrong.toml").write_text(shop_text.replace('currency = "', 'currency = "X'), "utf-8")
    if command == "deliver":
        monkeypatch.setenv("PORTAL_SMTP", "gopher://x")
    arguments = command.format(here=house).split()
    assert main([*arguments, "--lang", "de"]) == code
    said = "".join(capsys.readouterr())
    assert "⟦" in said
    known = {"smtp", "starttls", "smtps", "host", "console", "none", "toml", "shop", "csv"}
    typed = {word for one in (str(house), *arguments) for word in WORD.findall(one)}
    assert not outside(said, known | typed | {"powders", "currency", "XGBP"}), said


@pytest.mark.usefixtures("invented")
def test_every_word_of_where_to_look_comes_from_the_catalogue(house: Path) -> None:
    settings = read_settings()
    said = where_to_look(settings, reader_of(settings, "de"))
    typed = f"{settings.base_url} counter sign-in books letters None floor office {PASSWORD}"
    assert "⟦" in said
    assert not outside(said, set(WORD.findall(typed)))


@pytest.mark.usefixtures("invented")
def test_a_command_answers_as_asked_else_as_the_environment_else_as_the_shop(
    house: Path, capsys, monkeypatch
) -> None:
    def answer(*more: str) -> str:
        assert main(["migrate", *more]) == 0
        return capsys.readouterr().out.strip()

    english = "The database is up to date."
    monkeypatch.setenv("LANG", "de_AT.UTF-8")
    assert answer() == f"⟦{english}⟧"
    assert answer("--lang", "en") == english
    monkeypatch.setenv("LANG", "C.UTF-8")
    assert answer() == english  # as the shop
    shop = (SEED / "shop.toml").read_text("utf-8")
    assert 'locale = "en"' in shop
    (house / "own.toml").write_text(shop.replace('locale = "en"', 'locale = "de"', 1), "utf-8")
    assert main(["shop", str(house / "own.toml")]) == 0
    assert capsys.readouterr().out.startswith("⟦Read ")
    assert answer() == f"⟦{english}⟧"
