"""What a stranger may ask of us in a day: bookings that nobody brings, letters to a victim."""

from dataclasses import replace
from typing import Any

import pytest
import sqlalchemy as sa

from portal.orders.access.signing_in import add_person
from portal.orders.intake import drafts
from portal.orders.intake.strangers import (
    MOST_A_DAY,
    MOST_LETTERS,
    MOST_OPEN,
    may_book,
    refuse_many,
)
from portal.orders.kernel.errors import Refused
from portal.orders.office.bookings import bookings, call_off_many
from portal.shop.moves import JobState
from portal.shop.roles import Role
from portal.store.tables import Job, Letter
from tests.factories import a_booked_job
from tests.orders.test_booking import CONTACT
from tests.orders.test_erasing import end
from tests.readers import english

ROBIN = replace(CONTACT, phone="+447700900123", email="robin@example.com")
ROBINS = ("robin", "Robin") * 6


@pytest.fixture
def wren(unit) -> int:
    return add_person(
        unit, login="wren", name="Wren", role=Role.OFFICE, password="a long word for wren"
    )


def refused(unit, contact=ROBIN) -> str:
    with pytest.raises(Refused) as caught:
        may_book(unit, contact)
    return f"{caught.value.key}: {english(caught.value.sentence)}"


def test_three_orders_that_were_not_brought_are_enough_and_the_rest_is_by_telephone(unit) -> None:
    for _ in range(MOST_OPEN):
        may_book(unit, ROBIN)
        a_booked_job(unit)
    assert refused(unit).startswith("phone: With this phone number 3 orders are booked")
    assert "+44 1632" in refused(unit)
    other_phone = replace(ROBIN, phone="+447700900777", email="ROBIN@example.com")
    assert refused(unit, other_phone).startswith("email: With this e-mail address 3 orders")
    may_book(unit, replace(other_phone, email="ada@example.com"))


def test_who_brings_an_order_may_book_the_next_one(unit) -> None:
    jobs = [a_booked_job(unit) for _ in range(MOST_OPEN)]
    end(unit, jobs[0])
    may_book(unit, ROBIN)


def test_booking_and_calling_off_all_day_comes_to_an_end(unit, clock) -> None:
    for _ in range(MOST_A_DAY):
        may_book(unit, ROBIN)
        end(unit, a_booked_job(unit))
    assert "several times today" in refused(unit)
    clock.advance(hours=25)
    may_book(unit, ROBIN)


def sends(unit, email: str, address: str, token: str = "") -> bool:
    """Have the link of a draft sent; return whether a letter was queued."""
    try:
        drafts.send_resume_link(unit, token or drafts.begin(unit), email, address=address)
    except Refused:
        return False
    return True


def test_a_victims_box_is_not_filled_from_many_drafts(unit, clock) -> None:
    tried = [sends(unit, f"{who}@example.com", f"192.0.2.{n}") for n, who in enumerate(ROBINS)]
    assert tried.count(True) == MOST_LETTERS["letter-to"]
    assert tried == sorted(tried, reverse=True)
    clock.advance(hours=25)
    assert sends(unit, "robin@example.com", "192.0.2.1")


def test_one_place_does_not_write_to_everybody(unit) -> None:
    tried = [sends(unit, f"robin{n}@example.com", "192.0.2.1") for n in range(40)]
    assert tried.count(True) == MOST_LETTERS["letter-from"]


@pytest.mark.postgres
def test_many_are_called_off_at_once_and_nobody_is_written_to(unit, wren) -> None:
    jobs = [a_booked_job(unit) for _ in range(4)]
    end(unit, jobs[3])
    found = bookings(unit, "robin 900123")
    assert [(one.job_id, one.same) for one in found] == [(job.job_id, 3) for job in jobs[2::-1]]
    assert bookings(unit, "nobody") == ()
    ids = [job.job_id for job in jobs]
    for chosen, reason, key in (([], "x", "jobs"), (ids, " ", "reason")):
        with pytest.raises(Refused) as caught:
            call_off_many(unit, chosen, reason, has_letter=False, who=wren)
        assert caught.value.key == key
    assert call_off_many(unit, ids, "booked for fun", has_letter=False, who=wren) == 3
    with unit.read() as session:
        states = session.scalars(sa.select(Job.state).order_by(Job.id)).all()
        assert states == [JobState.CALLED_OFF] * 3 + [JobState.HANDED_BACK]
        assert "queued" not in session.scalars(sa.select(Letter.state)).all()


def test_years_of_customers_are_not_read_for_a_booking(unit, database) -> None:
    """SQLite's plan says SCAN where every row of a table is read (sqlite.org/eqp.html).

    That the job belongs to no firm finds nearly all of them, too.
    """
    if not database.startswith("sqlite"):
        return  # its planner goes by the rows that there are
    asked: list[tuple[str, Any]] = []

    def note(_link, _cursor, statement, parameters, *_more) -> None:
        asked.append((statement, parameters))

    with unit.read() as session:
        link = session.connection()
        sa.event.listen(link, "before_cursor_execute", note)
        refuse_many(unit, session, ROBIN)
        sa.event.remove(link, "before_cursor_execute", note)
        counted = [one for one in asked if "count(" in one[0].lower()]
        assert len(counted) == 2
        for statement, parameters in counted:
            plan = link.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", parameters).all()
            steps = [row[3] for row in plan]
            assert [one for one in steps if one.startswith("SCAN") or "firm_id" in one] == []
