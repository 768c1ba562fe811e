"""The first page: any metal thing, sizes as people type them, and "don't know" as an answer."""

import pytest
import sqlalchemy as sa

from portal.craft.declared import read_declared
from portal.orders.intake.draft_answers import read_answers
from portal.store.tables import Draft, Job
from tests.web.test_intake_photos import a_jpeg, shown
from tests.web.walk import CONTACT, WHEELS, Customer

CHAIRS = {"kind": "chair", "count": "6", "metal": "steel", "closed": "none"}
BOX = {"kind": "box", "count": "1", "metal": "steel", "closed": "none"}


@pytest.fixture
def customer(client) -> Customer:
    return Customer(client)


def told(customer: Customer, app):
    """The sets of the only draft, as they are kept."""
    with app.extensions["unit"].read() as session:
        row = session.scalars(sa.select(Draft)).one()
        return read_answers(row.answers).declared.sets


def booked(app):
    with app.extensions["unit"].read() as session:
        return read_declared(session.scalars(sa.select(Job)).one().declared).sets


def to_the_slip(customer: Customer, **finish: str) -> None:
    for _ in range(8):
        here = customer.step
        if here == "read-back":
            break
        answers = {"finish": {"A-colour": "R9005-S", "A-gloss": "satin"}, "you": CONTACT}
        customer.send(**answers.get(here, {}))
        assert customer.step != here, customer.page.text
    customer.book()


# ---- don't know


def test_wheels_of_unknown_size_and_build_reach_their_slip(customer, app) -> None:
    customer.send(size_open="y", build="unknown")
    assert customer.step == "on-them"
    to_the_slip(customer)
    (one,) = booked(app)
    assert one.rim is None
    assert one.build.value == "unknown"


def test_a_size_that_nobody_knows_gives_a_price_between_two(customer) -> None:
    customer.send(size_open="y", build="cast")
    customer.go_to("finish")
    customer.go_to("parts/A")
    assert customer.page.one("input", id="size_open").get("checked") is not None


def test_a_railing_that_nobody_measured_reaches_its_slip(customer, app) -> None:
    customer.send(kind="railing", count="3", closed="unknown", sides_open="y")
    to_the_slip(customer)
    (one,) = booked(app)
    assert one.size_mm is None


def test_without_size_and_without_the_tick_the_error_leads_to_the_field(customer) -> None:
    customer.send(build="cast")
    assert customer.errors() == ["Enter the size, or tick “I don't know the size” below it."]


# ---- any metal thing


def test_six_garden_chairs_reach_their_slip_and_nobody_speaks_of_wheels(customer, app) -> None:
    customer.send(**CHAIRS)
    while customer.step != "read-back":
        here = customer.step
        words = customer.page.one("main").itertext()
        spoken = " ".join(words).replace("Wheels", "", 1) if here == "parts" else " ".join(words)
        assert "wheel" not in spoken.lower(), (here, spoken)
        answers = {"finish": {"A-colour": "R9005-S", "A-gloss": "satin"}, "you": CONTACT}
        customer.send(**answers.get(here, {}))
        assert customer.step != here, customer.page.text
    customer.book()
    (one,) = booked(app)
    assert (one.kind.value, one.count, one.size_mm) == ("chair", 6, None)


def test_the_area_is_told_with_its_uncertainty(customer) -> None:
    customer.send(**CHAIRS)
    customer.go_to("parts/A")
    assert "about 0.9 m² to coat on each, ± 30 %" in customer.page.text


def test_something_else_is_told_in_the_customers_words(customer, app) -> None:
    customer.send(
        kind="other", count="2", what="lamp base", made="casting", length="30 cm", width="30",
        height="45", closed="none",
    )  # fmt: skip
    (one,) = told(customer, app)
    assert (one.what, one.made.value, one.size_mm) == ("lamp base", "casting", (300, 300, 450))
    customer.go_to("parts")
    assert "lamp base" in customer.page.text


def test_something_else_without_a_word_is_asked_for_one(customer) -> None:
    customer.send(kind="other", count="2", sides_open="y", closed="none")
    assert customer.errors() == ["Enter what it is, such as “lamp base”."]


@pytest.mark.parametrize(
    ("closed", "words"),
    [("pressure", "gas struts"), ("airbag", "explosive"), ("glued", "Glue lets go")],
)
def test_what_cannot_stand_the_oven_is_refused_on_the_first_page(
    customer, closed: str, words: str
) -> None:
    customer.send(**BOX | {"closed": closed}, length="300", width="200", height="100")
    assert customer.step == "parts"
    refused = " ".join("".join(customer.page.one(id="refused").itertext()).split())
    assert words in refused


def test_whether_something_is_closed_is_never_left_open(customer) -> None:
    customer.send(kind="box", count="1", length="300", width="200", height="100")
    assert customer.errors() == ["Choose what applies, or “None of these”."]
    customer.send(closed=["none", "tank"])
    assert customer.errors() == ["Choose “None of these” alone, or leave it out."]


# ---- sizes


@pytest.mark.parametrize(
    ("sides", "mm"),
    [
        (("26 cm", "14", "12"), (260, 140, 120)),
        (("26", "14", "12 cm"), (260, 140, 120)),
        (("260", "140", "120"), (260, 140, 120)),
        (("26 x 14 x 12 cm", "", ""), (260, 140, 120)),
        (("0,26 m", "0.14", "0.12"), (260, 140, 120)),
        (("250", "15 cm", "4 in"), (250, 150, 101.6)),
    ],
)
def test_the_unit_carries_over(customer, app, sides, mm) -> None:
    customer.send(**BOX, length=sides[0], width=sides[1], height=sides[2])
    (one,) = told(customer, app)
    assert one.size_mm == pytest.approx(mm)


def test_what_was_read_stands_beside_the_fields(customer) -> None:
    customer.send(**BOX, length="26 cm", width="14", height="12")
    customer.go_to("parts/A")
    assert "260 × 140 × 120 mm" in " ".join(customer.page.text.split()).replace("\u202f", " ")


def test_an_unusual_size_is_asked_back_and_taken_after_a_yes(customer, app) -> None:
    railing = {"kind": "railing", "count": "1", "closed": "none"}
    customer.send(**railing, length="26", width="4", height="10")
    assert "Is one part really 26 mm long?" in customer.errors()[0]
    mark = customer.page.one("input", id="sure").get("value")
    # a yes to another size is none to this one
    customer.send(**railing, length="28", width="4", height="10", sure=mark)
    assert "Is one part really 28 mm long?" in customer.errors()[0]
    customer.send(sure=customer.page.one("input", id="sure").get("value"))
    (one,) = told(customer, app)
    assert one.size_mm == (28, 4, 10)


# ---- how many, and photos


def test_only_the_first_set_begins_with_a_number(customer) -> None:
    assert customer.page.one("input", id="count").get("value") == "4"
    assert not customer.page.one("input", id="count-others").get("value")
    customer.send(**WHEELS, then="another")
    assert not customer.page.one("input", id="count").get("value")


def test_a_browser_sends_both_counts_and_the_one_of_the_kind_counts(client, app) -> None:
    customer = Customer(client)
    customer.send(**CHAIRS | {"count": ["6", "4"]})
    assert told(customer, app)[0].count == 6


def test_photos_are_counted_and_shown_at_once_and_in_the_list_of_sets(customer) -> None:
    shots = [(a_jpeg(), f"{n}.jpg") for n in range(3)]
    customer.send(size="19 something", photos=shots, then="photos")
    assert customer.at.status_code == 200
    assert "3 photos" in customer.page.text
    assert len(shown(customer)) == 3
    # what was typed is still there, and was not yet judged
    assert customer.page.one("input", id="size").get("value") == "19 something"
    customer.send(**WHEELS)
    customer.go_to("parts")
    assert "3 photos" in customer.page.text
    assert len(shown(customer)) == 3
