"""The booking: everything checked again, one place, one job, one letter."""

from dataclasses import replace

import pytest
import sqlalchemy as sa

from portal.craft.declared import read_declared
from portal.craft.parts import Damage
from portal.orders.intake import booking
from portal.orders.intake import drafts as drafting
from portal.orders.intake.draft_answers import Contact
from portal.orders.intake.draft_view import look
from portal.orders.kernel.errors import Overtaken, Refused, Taken
from portal.shop import codes
from portal.shop.scheduling.stations import read_work
from portal.shop.states import OrderKind
from portal.store.tables import Booking, Draft, Job, Letter, Move, Part, Photo, PromiseMade
from tests.factories import a_token
from tests.rows import a_job_row

ORDER = {
    "bringing": "complete",
    "sets": [
        {
            "key": "A",
            "kind": "wheel",
            "count": 4,
            "build": "cast",
            "rim": "8Jx18 ET35",
            "layers": ["factory_paint"],
            "fitted": ["tyre", "weights", "valve"],
            "removers": {"tyre": "us", "weights": "us", "valve": "us"},
            "finish": {"system": "base_clear", "colour": "R9010-G", "gloss": "gloss"},
        },
        {
            "key": "B",
            "kind": "plate",
            "count": 2,
            "metal": "steel",
            "size_mm": [500, 300, 3],
            "layers": ["bare"],
            "finish": {"system": "single", "colour": "R9005-S", "gloss": "satin"},
        },
    ],
}
CONTACT = Contact("Taylor Sample", "taylor@example.com", "+447700900123", vehicle="Green van")


def a_contact(number: int) -> Contact:
    """Somebody else's contact."""
    return replace(CONTACT, email=f"taylor{number}@example.com", phone=f"+44770090{number:04d}")


def a_draft(unit, order=ORDER, *, slot=0, contact=CONTACT) -> str:
    """A draft that can be booked; `slot` counts the free times."""
    token = drafting.begin(unit)
    declared = read_declared(order)
    marks = {f"fitted:{s.key}": 1 for s in declared.sets}
    drafting.save(
        unit,
        token,
        "set:A",
        1,
        lambda a: replace(a, declared=declared, contact=contact, saved={**a.saved, **marks}),
    )
    if slot is not None:
        start = look(unit, token).offers[slot].start
        drafting.save(unit, token, "day", 9, lambda a: replace(a, slot=start))
    return token


def press(unit, token: str, *, once: str = "", agreed: str = "", confirmed=None) -> str:
    seen = look(unit, token)
    keys = [c.key for c in seen.to_confirm] if confirmed is None else confirmed
    return booking.book(
        unit,
        token,
        once_token=once or a_token(),
        agreed=agreed or booking.agreement(seen),
        confirmed=keys,
    )


def every(unit, table) -> list:
    with unit.read() as session:
        return list(session.scalars(sa.select(table)))


def test_a_booking_makes_a_job_with_its_parts_its_place_its_event_and_its_letter(unit) -> None:
    token = a_draft(unit)
    seen = look(unit, token)
    link = press(unit, token)
    (job,) = every(unit, Job)
    assert job.token == link
    assert codes.read_code(job.code) == (codes.CodeReading.CODE, job.code)
    assert len(job.pickup_code) == 6
    assert job.pickup_code.isdigit()
    assert (job.dropoff_at, job.promise_at) == (seen.promise.start, seen.promise.ready_at)
    assert job.promised_first_at == job.promise_at
    (made,) = every(unit, PromiseMade)
    assert (made.job_id, made.made_at, made.kind) == (job.id, unit.now(), OrderKind.OUTSIDE_STRIP)
    assert made.made_at < made.foreseen_at < job.promise_at
    assert job.total_minor == seen.assessment.quote.total.minor
    assert read_declared(job.declared) == seen.answers.declared
    (place,) = every(unit, Booking)
    assert (place.job_id, place.place) == (job.id, 1)
    (event,) = every(unit, Move)
    assert (event.verb, event.to) == ("book", "booked")
    (letter,) = every(unit, Letter)
    assert letter.to == CONTACT.email
    assert codes.shown(job.code) in letter.text
    assert "BEGIN:VCALENDAR" in letter.calendar


def test_each_part_carries_its_own_work(unit) -> None:
    press(unit, a_draft(unit))
    parts = sorted(every(unit, Part), key=lambda p: p.number)
    assert [p.number for p in parts] == [1, 2, 3, 4, 5, 6]
    assert [p.set_key for p in parts] == ["A"] * 4 + ["B"] * 2
    wheel, plate = parts[0], parts[4]
    assert (wheel.coats, wheel.needs_strip, wheel.needs_refit) == (2, True, True)
    assert (plate.coats, plate.needs_strip, plate.needs_refit) == (1, False, False)
    assert read_work(wheel.work).set_key == "A"


def test_pressing_twice_is_one_booking(unit) -> None:
    token = a_draft(unit)
    agreed = booking.agreement(look(unit, token))
    links = {press(unit, token, once="the same press", agreed=agreed) for _ in range(2)}
    assert len(links) == 1
    assert len(every(unit, Job)) == len(every(unit, Letter)) == 1


def test_two_windows_with_two_buttons_are_one_booking_too(unit) -> None:
    token = a_draft(unit)
    agreed = booking.agreement(look(unit, token))
    assert press(unit, token, agreed=agreed) == press(unit, token, agreed=agreed)
    assert len(every(unit, Job)) == 1


def test_the_place_that_is_left_is_taken_and_then_the_window_is_full(unit) -> None:
    seen = look(unit, a_draft(unit))
    first = seen.offers[0]
    drafts = [a_draft(unit) for _ in range(first.places + 1)]
    for token in drafts[:-1]:
        press(unit, token)
    with pytest.raises(Taken):
        press(unit, drafts[-1])
    assert [b.place for b in every(unit, Booking)] == list(range(1, first.places + 1))
    assert first.start not in [o.start for o in look(unit, drafts[-1]).offers]


def test_a_gap_in_the_places_is_filled(unit) -> None:
    offers = look(unit, a_draft(unit)).offers
    slot = next(number for number, one in enumerate(offers) if one.places > 1)
    start = offers[slot].start

    def second_place(session) -> None:
        job = a_job_row(session, unit.now(), dropoff_at=start)
        session.add(Booking(window_start=start, place=2, job_id=job.id))

    unit.write(second_place)
    press(unit, a_draft(unit, slot=slot))
    assert sorted(b.place for b in every(unit, Booking)) == [1, 2]


@pytest.mark.parametrize("gone", ["slot", "contact", "finish", "layers", "fitted", "bringing"])
def test_what_is_missing_keeps_the_order_from_being_booked(unit, gone: str) -> None:
    token = a_draft(unit)
    agreed = booking.agreement(look(unit, token))

    def lose(answers):
        if gone in ("slot", "contact"):
            return replace(answers, **{gone: None})
        if gone == "fitted":
            return replace(answers, saved={"x": 1})
        declared = answers.declared
        if gone == "bringing":
            return replace(answers, declared=replace(declared, bringing=None))
        blank = None if gone == "finish" else ()
        sets = tuple(replace(s, **{gone: blank}) for s in declared.sets)
        return replace(answers, declared=replace(declared, sets=sets))

    drafting.save(unit, token, "lost", 99, lose)
    with pytest.raises((Refused, Overtaken)):
        press(unit, token, agreed=agreed)
    assert not every(unit, Job)


def test_a_refused_set_is_never_booked(unit) -> None:
    token = a_draft(unit)

    def crack(answers):
        sets = tuple(replace(s, damage=(Damage.CRACK,)) for s in answers.declared.sets)
        return replace(answers, declared=replace(answers.declared, sets=sets))

    drafting.save(unit, token, "lost", 99, crack)
    with pytest.raises(Refused):
        press(unit, token)


def test_what_must_be_confirmed_must_be_confirmed(unit) -> None:
    token = a_draft(unit)
    assert look(unit, token).to_confirm
    with pytest.raises(Refused):
        press(unit, token, confirmed=[])


def test_an_order_changed_after_it_was_read_is_read_again(unit) -> None:
    token = a_draft(unit)
    agreed = booking.agreement(look(unit, token))
    drafting.save(unit, token, "x", 99, lambda a: replace(a, confirmed=("changed",)))
    with pytest.raises(Overtaken):
        press(unit, token, agreed=agreed)
    assert not every(unit, Job)


def test_the_date_that_was_read_is_kept_while_the_floor_goes_on(unit) -> None:
    token = a_draft(unit)
    seen = look(unit, token)
    later = replace(seen.promise, ready_at=seen.promise.ready_at.replace(minute=59))
    read = booking.agreement(replace(seen, promise=later))
    press(unit, token, agreed=read)
    assert every(unit, Job)[0].promise_at == later.ready_at


@pytest.mark.parametrize("date", ["20200101T0900+0000", "20991231T0900+0000", "soon", ""])
def test_a_date_that_nobody_promised_is_not_booked(unit, date: str) -> None:
    token = a_draft(unit)
    read = booking.agreement(look(unit, token)).rpartition(".")[0] + "." + date
    with pytest.raises(Overtaken):
        press(unit, token, agreed=read)


def test_photos_of_the_draft_go_with_the_job(unit) -> None:
    token = a_draft(unit)

    def put(session) -> None:
        draft = session.scalars(sa.select(Draft.id)).one()
        session.add(
            Photo(
                token="P" * 26,
                draft_id=draft,
                set_key="A",
                purpose="declared",
                width=1,
                height=1,
                jpeg=b"x",
                taken_at=unit.now(),
            )
        )

    unit.write(put)
    press(unit, token)
    (photo,) = every(unit, Photo)
    assert (photo.draft_id, photo.job_id) == (None, every(unit, Job)[0].id)


def test_a_booked_draft_takes_no_more_answers(unit) -> None:
    token = a_draft(unit)
    press(unit, token)
    with pytest.raises(Refused):
        drafting.save(unit, token, "you", 99, lambda a: replace(a, contact=None))
    assert look(unit, token).job_token


def test_a_code_that_exists_already_is_drawn_again(unit, monkeypatch) -> None:
    drawn = iter(["7K3MP2X4", "7K3MP2X4", "9H4RT6W2"])
    monkeypatch.setattr(codes, "new_code", lambda _random: next(drawn))
    press(unit, a_draft(unit))
    press(unit, a_draft(unit, slot=1))
    assert {j.code for j in every(unit, Job)} == {"7K3MP2X4", "9H4RT6W2"}
