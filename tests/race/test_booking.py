"""Many customers press the last button for one time at once: each place is booked once."""

from portal.orders.intake import booking
from portal.orders.intake.draft_view import look
from portal.store.tables import Booking, Job, Letter, Part
from tests.orders.test_booking import a_contact, a_draft, every
from tests.race.crowd import Crowd

CUSTOMERS = 8


def test_a_window_is_never_booked_beyond_its_places(unit, database) -> None:
    drafts = [a_draft(unit, contact=a_contact(n)) for n in range(CUSTOMERS)]
    places = look(unit, drafts[0]).promise.places
    agreed = [booking.agreement(look(unit, token)) for token in drafts]
    keys = [c.key for c in look(unit, drafts[0]).to_confirm]

    def work(unit, n, together):
        together()
        return booking.book(
            unit, drafts[n], once_token=f"customer-{n}", agreed=agreed[n], confirmed=keys
        )

    outcome = Crowd(database, CUSTOMERS, patience=2).run(work)
    booked = every(unit, Booking)
    assert len(outcome.answers) == len(booked) == len({b.place for b in booked})
    assert 1 <= len(booked) <= places
    assert len(every(unit, Job)) == len(every(unit, Letter)) == len(booked)
    assert len(every(unit, Part)) == 6 * len(booked)
    # the others are told that the time is full, or that their date has moved while they pressed
    assert outcome.kinds() <= {"Taken", "Overtaken", "Busy"}


def test_one_draft_pressed_in_many_windows_is_one_job(unit, database) -> None:
    token = a_draft(unit)
    seen = look(unit, token)
    agreed, keys = booking.agreement(seen), [c.key for c in seen.to_confirm]

    def work(unit, n, together):
        together()
        return booking.book(unit, token, once_token=f"window-{n}", agreed=agreed, confirmed=keys)

    outcome = Crowd(database, CUSTOMERS, patience=2).run(work)
    assert len(every(unit, Job)) == 1
    assert len(set(outcome.answers)) == 1
