"""New order: staff take in a walk-in or a caller on one page, by the customer's own rules."""

import re
from typing import Any

import pytest
import sqlalchemy as sa

from portal.orders.kernel.unit import UnitOfWork
from portal.shop.moves import JobState
from portal.shop.states import Arrival, TellBy
from portal.store.tables import Booking, Job, Letter, Part
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
