"""New order: staff take in a walk-in or a caller on one page, by the customer's own rules."""

import re
from typing import Any

import pytest
import sqlalchemy as sa

from portal.orders.kernel.unit import UnitOfWork
from portal.orders.office.firms import close_firm
from portal.shop.moves import JobState
from portal.shop.states import Arrival, TellBy
from portal.store.tables import Booking, Job, Letter, Part
from tests.firms import a_firm
from tests.page import words
from tests.web.hand import Hand

PAGE = "/counter/new-order"
WHEELS: dict[str, Any] = {
    "name": "Robin Sample",
    "phone": "07700 900123",
    "A-count": "4",
    "A-size": "8Jx18 ET35",
    "A-build": "cast",
    "A-layers": ["factory_paint"],
    "A-on": "tyres",
    "A-near": "R9005-S",
    "confirmed": "y",
}


@pytest.fixture
def desk(hand: Hand) -> Hand:
    hand.go(PAGE)
    return hand


def enter(desk: Hand, do: str, **more: Any) -> None:
    desk.send(PAGE, do=do, **{**WHEELS, **{k.replace("__", "-"): v for k, v in more.items()}})


def take(desk: Hand, **more: Any) -> None:
    """Read out what it comes to, then take it in, as without a script."""
    enter(desk, "look", **more)
    desk.send(PAGE, do="take", confirmed="y")


def the_job(unit: UnitOfWork) -> Job:
    with unit.read() as session:
        return session.scalars(sa.select(Job).order_by(Job.id.desc()).limit(1)).one()


def test_every_staff_page_leads_to_it(hand: Hand) -> None:
    hand.go("/counter/shelf")
    assert any(a.get("href") == PAGE for a in hand.page.all("a"))


@pytest.mark.parametrize("field", ["damage", "layers", "on", "build", "coats-system", "kind"])
def test_a_choice_that_nobody_offered_is_no_accident(desk: Hand, field: str) -> None:
    enter(desk, "look", **{f"A-{field}": "planted"})
    assert desk.heading == "New order"


def test_four_wheels_with_tyres_are_taken_in_without_an_e_mail(desk: Hand, unit) -> None:
    take(desk)
    assert desk.heading == "Taken in", desk.page.text[:3000]
    job = the_job(unit)
    assert job.state is JobState.BOOKED
    assert (job.customer.email, job.customer.tell_by) == ("", TellBy.PHONE)
    with unit.read() as session:
        parts = session.scalars(sa.select(Part).where(Part.job_id == job.id)).all()
        assert session.scalars(sa.select(Booking)).all() == []
        assert session.scalars(sa.select(Letter)).all() == []
    assert [part.arrived for part in parts] == [Arrival.AS_DECLARED] * 4


def test_nothing_is_taken_in_before_price_and_day_were_read_out(desk: Hand, unit) -> None:
    enter(desk, "take")
    assert desk.at.status_code == 422
    assert "Tell the customer these points" in desk.wrong("confirmed")
    desk.send(PAGE, do="take", confirmed="y")
    assert desk.heading == "Taken in"
    assert the_job(unit).total_minor > 0


def test_the_check_in_of_parts_that_are_here_asks_for_tags_alone(desk: Hand, unit) -> None:
    take(desk, **{"A-on": "bare"})
    desk.go(f"/counter/job/{the_job(unit).code}/check-in")
    for tag in ("101", "102", "103", "104"):
        desk.scan(tag)
    desk.send("/receive")
    assert desk.told == ["Received. Work has started."]


def test_an_e_mail_takes_the_letter_with_the_link_when_the_parts_are_received(desk, unit) -> None:
    take(desk, email="robin@example.com", **{"A-on": "bare"})
    code = the_job(unit).code
    assert "The link goes to robin@example.com" in desk.page.text
    desk.go(f"/counter/job/{code}/check-in")
    for tag in ("101", "102", "103", "104"):
        desk.scan(tag)
    desk.send("/receive")
    with unit.read() as session:
        letter = session.scalars(sa.select(Letter)).one()
    assert (letter.kind, letter.to) == ("received", "robin@example.com")
    assert the_job(unit).token in letter.text


def test_a_caller_takes_a_drop_off_place_and_gets_the_letter(desk: Hand, unit) -> None:
    enter(desk, "look", when="later", email="robin@example.com")
    slots = [o.get("value") for o in desk.page.one(id="slot").iter("option") if o.get("value")]
    desk.send(PAGE, do="look", slot=slots[3])
    desk.send(PAGE, do="take", confirmed="y")
    assert desk.heading == "Booked", desk.page.text[:2000]
    job = the_job(unit)
    assert f"{job.dropoff_at:%Y-%m-%dT%H:%MZ}" == slots[3]
    with unit.read() as session:
        assert session.scalars(sa.select(Booking.job_id)).all() == [job.id]
        assert session.scalars(sa.select(Letter.kind)).all() == ["booked"]
        arrived = session.scalars(sa.select(Part.arrived).where(Part.job_id == job.id)).all()
    assert set(arrived) == {Arrival.UNCHECKED}


def test_who_is_not_here_must_be_reached(desk: Hand) -> None:
    enter(desk, "take", phone="", when="later", unreachable="y")
    assert "we must reach who is not here yet" in desk.wrong("phone")
    assert "Choose a drop-off time." in desk.wrong("slot")


def test_a_walk_in_may_leave_nothing_but_a_name(desk: Hand, unit) -> None:
    enter(desk, "take", phone="")
    assert "or tick that there is none" in desk.wrong("phone")
    take(desk, phone="", unreachable="y")
    assert the_job(unit).customer.phone == ""
    assert "the customer comes and asks" in desk.page.text


def test_what_is_missing_is_told_at_its_field_and_nothing_is_lost(desk: Hand) -> None:
    enter(desk, "take", name="", **{"A-size": "", "A-build": "", "A-near": "zzz", "A-layers": []})
    assert desk.at.status_code == 422
    for name, says in (
        ("name", "Enter the name."),
        ("A-size", "Enter the size"),
        ("A-build", "Choose how they are made"),
        ("A-layers", "Tick at least one layer"),
        ("A-near", "We found no colour for “zzz”"),
    ):
        assert says in desk.wrong(name), name
    assert desk.page.one(id="phone").get("value") == "07700 900123"


def test_a_colour_that_two_powders_have_is_asked_and_never_chosen(desk: Hand, unit) -> None:
    enter(desk, "take", **{"A-near": "black"})
    assert "Choose which of these colours it is." in desk.wrong("A-near")
    picks = [one.get("value") for one in desk.page.all("input") if one.get("name") == "A-pick"]
    assert len(picks) > 1
    enter(desk, "look", **{"A-near": "black", "A-pick": picks[1]})
    desk.send(PAGE, do="take", confirmed="y")
    finish = the_job(unit).declared["sets"][0]["finish"]
    assert finish["colour"] == picks[1].rpartition(".")[2]


def test_a_pick_without_a_coat_to_pick_it_for_is_no_error_that_leads_nowhere(desk: Hand) -> None:
    enter(desk, "take", **{"A-near": "black"})
    picks = [one.get("value") for one in desk.page.all("input") if one.get("name") == "A-pick"]
    # the page is checked: each link leads to something on it
    enter(desk, "take", **{"A-near": "black", "A-pick": picks[1], "A-system": "planted"})
    enter(desk, "take", **{"A-near": "black", "A-pick": "planted", "A-system": ""})
    assert desk.heading == "New order"


def test_a_mixed_order_has_its_second_set_in_the_first_one_s_finish(desk: Hand, unit) -> None:
    enter(desk, "add")
    told: dict[str, Any] = {
        "B-kind": "chair", "B-count": "2", "B-metal": "steel", "B-layers": ["liquid_paint"],
        "B-length": "900", "B-width": "500", "B-height": "500", "B-closed": ["none"], "B-same": "y",
    }  # fmt: skip
    desk.send(PAGE, do="look", **told)
    desk.send(PAGE, do="take", confirmed="y")
    assert desk.heading == "Taken in", desk.page.text[:3000]
    sets = the_job(unit).declared["sets"]
    assert [(one["kind"], one["count"]) for one in sets] == [("wheel", 4), ("chair", 2)]
    assert sets[0]["finish"]["colour"] == sets[1]["finish"]["colour"]


def test_a_set_can_be_removed_again(desk: Hand) -> None:
    enter(desk, "add")
    desk.send(PAGE, do="remove:B")
    assert not desk.page.all(id="B-title")


def test_what_can_t_be_done_is_refused_with_its_reason(desk: Hand, unit) -> None:
    enter(desk, "look", **{"A-build": "magnesium"})
    assert "magnesium" in words(desk.page.one("aside")).lower()
    desk.send(PAGE, do="take", confirmed="y")
    with unit.read() as session:
        assert session.scalars(sa.select(Job)).all() == []


def test_a_customer_is_found_again_by_telephone_and_by_name(desk: Hand, unit) -> None:
    take(desk, vehicle="grey estate", email="robin@example.com")
    for typed in ({"name": "", "phone": "900123"}, {"name": "robin s", "phone": ""}):
        desk.go(PAGE)
        desk.send(PAGE, do="look", **typed)
        use = [b for b in desk.page.all("button") if (b.get("value") or "").startswith("use:")]
        assert "Robin Sample" in words(use[0])
        desk.send(PAGE, do=use[0].get("value"))
        for name, value in (("name", "Robin Sample"), ("vehicle", "grey estate")):
            assert desk.page.one(id=name).get("value") == value
        assert re.sub(r"\D", "", desk.page.one(id="phone").get("value") or "") == "07700900123"


def test_an_order_of_a_firm_has_its_prices_its_address_and_no_deposit(desk: Hand, unit) -> None:
    firm_id = a_firm(unit, prices={"percent_off": "50"})
    enter(desk, "look", name="", phone="", firm=str(firm_id))
    half = words(desk.page.all(class_="new-price")[0])
    desk.go(PAGE)
    enter(desk, "look", name="", phone="")
    assert words(desk.page.all(class_="new-price")[0]) != half
    desk.go(PAGE)
    take(desk, name="", phone="", firm=str(firm_id))
    assert desk.heading == "Taken in", desk.page.text[:3000]
    job = the_job(unit)
    assert (job.firm_id, job.customer.name) == (firm_id, "Halden Garage")
    assert (job.customer.email, job.deposit_minor) == ("garage@example.com", 0)
    assert f"£{job.total_minor // 100}" in half


def test_no_order_is_taken_in_for_a_firm_that_is_closed_or_unknown(desk: Hand, unit) -> None:
    firm_id = a_firm(unit)
    enter(desk, "look", firm=str(firm_id))
    close_firm(unit, firm_id, closed=True, who=None)
    desk.send(PAGE, do="take", confirmed="y")
    assert desk.at.status_code == 422
    assert desk.wrong("firm")
    with unit.read() as session:
        assert session.scalars(sa.select(Job)).all() == []


def test_a_second_press_is_one_order(desk: Hand, unit) -> None:
    enter(desk, "look")
    page = desk.at
    for _ in range(2):
        desk.at = page
        desk.send(PAGE, do="take", confirmed="y")
        assert desk.heading == "Taken in"
    with unit.read() as session:
        assert len(session.scalars(sa.select(Job)).all()) == 1


def test_a_price_that_changed_meanwhile_is_read_out_again(desk: Hand, unit) -> None:
    enter(desk, "look")
    desk.send(PAGE, do="take", confirmed="y", **{"A-count": "3"})
    assert desk.heading == "New order"
    assert desk.told == ["The price or the date has changed. Read them out again, then go on."]


def test_the_price_lives_while_it_is_entered(desk: Hand) -> None:
    form = desk.page.one(id="page")
    token = next(e.get("value") for e in form.iter("input") if e.get("name") == "csrf_token")
    sent = {**WHEELS, "sets": "A", "csrf_token": token, "when": "here"}
    answer = desk.client.post(f"{PAGE}/price", data=sent)
    assert answer.status_code == 200
    assert '<p class="new-price"><b>£' in " ".join(answer.get_data(as_text=True).split())
