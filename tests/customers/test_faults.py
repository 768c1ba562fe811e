"""Each check can fail: a fault is planted in what is served, and who meets it falls."""

import re
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import pytest
from werkzeug.wrappers import Response

from portal.craft.messages import Message
from portal.orders.kernel import booking_letter
from tests.customers import __main__ as command
from tests.customers import plans
from tests.customers.figures import sums
from tests.customers.house import House
from tests.customers.one import Walked, walk
from tests.customers.over_the_counter import door_of
from tests.customers.tongues import strangers


@pytest.fixture
def here(open_house: House) -> Iterator[House]:
    """The house; a fault that a test plants in it goes again."""
    app = open_house.app
    hooks = {name: list(known) for name, known in app.after_request_funcs.items()}
    yield open_house
    app.after_request_funcs.clear()
    app.after_request_funcs.update(hooks)


def one_who(fits: Callable[[plans.Plan], bool]) -> int:
    """Return the first seed of a customer of one set who books on the portal and fits."""
    drawn = (plans.plan(seed) for seed in range(1, 5000) if door_of(seed) == "portal")
    return next(one.seed for one in drawn if len(one.sets) == 1 and fits(one))


ENGLISH = one_who(lambda drawn: drawn.language == "en" and drawn.arrival == "as_declared")
GERMAN = one_who(lambda drawn: drawn.language == "de" and drawn.arrival == "as_declared")
WRONG = one_who(lambda drawn: drawn.language == "en" and drawn.wrong_first and drawn.goes_back)


@dataclass(frozen=True)
class Fault:
    """What is served under paths that end so is changed; `says` stands in the fall."""

    who: int
    path: str
    good: str
    bad: str
    says: str
    status: int = 0


HEAD = "</h1>"
FAULTS = {
    "another sum on the slip": Fault(
        ENGLISH, r"/slip$", r'(class="total".*?)[\d,]+\.\d\d', r"\g<1>9,999.99", "price"),
    "another sum on the status page": Fault(
        ENGLISH, r"^/J/\w+$", r"£[\d,.]+", "£9,999.99", "price"),
    "another day on the slip": Fault(
        ENGLISH, r"/slip$", r'(class="pairs".*?)\w+day \d+ \w+', r"\g<1>soon", "day"),
    "a tag that is missing": Fault(
        ENGLISH, r"/tags$", r'<article class="label"', '<article class="gone"', "parts"),
    "another count at the check-in": Fault(
        ENGLISH, r"/check-in$", r"0/\d+", "0/77", "parts"),
    "an English sentence on a German page": Fault(
        GERMAN, r"/you$", HEAD, HEAD + "<p>Enter your name.</p>", "not de"),
    "an English sentence that no catalogue knows": Fault(
        GERMAN, r"/you$", HEAD, HEAD + "<p>We look at that again.</p>", "not de"),
    "a placeholder that nobody filled": Fault(
        ENGLISH, r"/day$", HEAD, HEAD + "<p>Ready on {day}</p>", "placeholder"),
    "a value that is not there": Fault(
        ENGLISH, r"/day$", HEAD, HEAD + "<p>None</p>", "None"),
    "a dead end": Fault(
        ENGLISH, r"^/J/\w+$", r"<main.*?(<h1.*?</h1>).*</main>", r"<main id='main'>\1</main>",
        "dead end"),
    "a server error": Fault(ENGLISH, r"/comes-off$", "$^", "", "error 500", 500),
    "a page that can't be found": Fault(ENGLISH, r"/day$", "$^", "", "404", 404),
    "a tag that is not closed": Fault(
        ENGLISH, r"/you$", HEAD, HEAD + "<p><b>bold</p>", "closes"),
    "an error that leads nowhere": Fault(
        WRONG, r"/(you|new)$", r'<a href="#[\w-]+">', '<a href="#main">', "leads to no field"),
    "an error that does not say what to do": Fault(
        WRONG, r"/(you|new)$", r'(<a href="#[\w-]+">)[^<]*(</a></li>)', r"\1Wrong.\2",
        "what to do"),
    "something typed that is lost": Fault(
        WRONG, r"/(you|new)$", r'(id="(?:count|name|email)"[^>]*) value="[^"]*"', r'\1 value="8"',
        "typed in"),
}  # fmt: skip


def plant(here: House, fault: Fault) -> None:
    """Change what is served from now on."""

    def change(response: Response) -> Response:
        from flask import request

        html = response.mimetype == "text/html" and response.status_code in (200, 422)
        if html and re.search(fault.path, request.path) and request.path != "/why-powder":
            if fault.status:
                response.status_code = fault.status
            body = response.get_data(as_text=True)
            if request.method == "GET" or response.status_code == 422:
                response.set_data(re.sub(fault.good, fault.bad, body, flags=re.DOTALL))
        return response

    here.app.after_request_funcs.setdefault(None, []).append(change)


@pytest.mark.parametrize("who", [ENGLISH, GERMAN, WRONG])
def test_without_a_fault_the_same_customers_get_home(here: House, who: int) -> None:
    assert not walk(here, who).fell


@pytest.mark.parametrize("name", FAULTS)
def test_a_planted_fault_makes_its_customer_fall(here: House, name: str) -> None:
    plant(here, FAULTS[name])
    assert FAULTS[name].says in walk(here, FAULTS[name].who).fell


def test_a_letter_with_another_sum_makes_its_customer_fall(
    here: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    write = booking_letter.queue_about

    def queue_about(unit, session, job, letter, cause):
        return write(unit, session, job, replace(letter, price=Message("£9,999.99")), cause)

    monkeypatch.setattr(booking_letter, "queue_about", queue_about)
    assert "the letter “booked”" in walk(here, ENGLISH).fell


@pytest.mark.parametrize(
    ("text", "language", "wrong"),
    [
        ("Bitte geben Sie Ihren Namen an.", "de", False),
        ("Enter your name.", "de", True),
        ("Geben Sie die Größe an.", "es", True),
        ("Elija un color.", "de", True),
        ("Choose a colour. Jet black satin, RAL 9005.", "en", False),
        ("Wählen Sie eine Farbe.", "en", True),
        ("Farbe: Jet black satin", "de", False),
        ("LOSAND-7K3M-THE4", "de", False),
    ],
)
def test_words_of_another_language_are_found(text: str, language: str, wrong: bool) -> None:
    assert bool(strangers(text, language, ("Jet black satin",))) is wrong


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("£1,234.50 expected. Never above £1,300", [123450, 130000]),
        ("1.234,50 £", [123450]),
        ("568 GBP", [56800]),
        ("924,00\u00a0£ und 12 Teile", [92400]),
        ("4 × 18", []),
    ],
)
def test_sums_are_read_as_each_language_writes_them(text: str, told: list[int]) -> None:
    assert sums(text) == told


def test_who_fell_is_printed_with_the_seed_that_repeats_it(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    told = [Walked(7, Counter({"kind: wheel": 2})), Walked(8, fell="the slip: a dead end")]
    monkeypatch.setattr(command, "walk_all", lambda *_: iter(told))
    monkeypatch.setattr("sys.argv", ["customers", "2", "7"])
    assert command.main() == 1
    printed = capsys.readouterr().out
    assert "make customers N=1 SEED=8" in printed
    assert "the slip: a dead end" in printed
    assert "1 of 2 got home" in printed
    assert "kind: wheel 2" in printed
    told.pop()
    assert command.main() == 0
