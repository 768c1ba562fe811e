"""The colour that was left to the samples is chosen at the counter, before the parts go to work."""

from datetime import timedelta

import pytest
import sqlalchemy as sa

from portal.craft.colour_names import ColourName
from portal.craft.declared import read_declared
from portal.craft.open_answers import Slow
from portal.craft.parts import Gloss
from portal.orders.counter import check_in
from portal.orders.counter.choosing_colour import choose_colour, plates, weigh_colour
from portal.orders.counter.finding_answers import answer_finding
from portal.orders.kernel.errors import Already, Overtaken, Refused
from portal.orders.kernel.work_card import read_card
from portal.orders.planning.free_times import free_times
from portal.shop.assessment.assess import assess
from portal.shop.moves import JobState
from portal.store.tables import Job, Part, PowderRow, StockMove
from tests.factories import WHEELS, a_booked_job, a_token, events, last_event_id, state
from tests.orders.test_findings import answer, painted, raise_it, receive
from tests.readers import refusing

OPEN = {**WHEELS, "finish": {"system": "base_clear", "gloss": "satin", "decide_from_sample": True}}


def row(unit, job) -> Job:
    with unit.read() as session:
        return session.get(Job, job.job_id)


def choose(unit, job, colour: str, gloss=Gloss.SATIN, at: int | None = None) -> None:
    weighed = weigh_colour(unit, job.job_id, "A", colour, gloss)
    choose_colour(
        unit,
        job.job_id,
        "A",
        weighed,
        expected_event_id=last_event_id(unit, job) if at is None else at,
        once_token=a_token(),
        who=None,
    )


def tell_expected(unit, job, at) -> None:
    """Let the job be booked for an earlier day, unless the chosen colour must be ordered."""

    def work(session):
        found = session.get(Job, job.job_id)
        found.expected_at, found.expected_unless = at, Slow.COLOUR

    unit.write(work)


def cards(unit, job):
    with unit.read() as session:
        query = sa.select(Part.work).where(Part.job_id == job.job_id)
        return [read_card(work) for work in session.scalars(query)]


def test_until_it_is_chosen_no_card_names_a_colour_or_a_powder(unit) -> None:
    job = a_booked_job(unit, OPEN)
    for card in cards(unit, job):
        assert (card.colour, card.hex, card.coats) == ("", "", ())
        assert card.masks


def test_the_parts_wait_for_the_colour_when_they_come(unit) -> None:
    job = a_booked_job(unit, OPEN)
    receive(unit, job)
    assert state(unit, job) is JobState.WAITING
    with refusing(Refused, "Choose the colour with the customer first"):
        check_in.start(unit, job.job_id, who=None)


def test_every_plate_of_the_system_can_be_chosen_in_every_gloss(unit) -> None:
    job = a_booked_job(unit, OPEN)
    found = plates(unit, job.job_id, "A").finishes
    assert found[0][0].gloss is Gloss.SATIN
    assert {one.gloss for one, _ in found} == {Gloss.MATT, Gloss.SATIN, Gloss.GLOSS}
    assert "KILN-T" not in {powder.code for _, powder in found}


def test_a_metallic_costs_what_the_quote_said_it_might(unit) -> None:
    job = a_booked_job(unit, OPEN)
    before = row(unit, job)
    weighed = weigh_colour(unit, job.job_id, "A", "DUSK-G", Gloss.SATIN)
    assert weighed.amount.minor == sum(line.amount.minor for line in weighed.lines) > 0
    assert weighed.total.minor == before.quote["high"]
    choose(unit, job, "DUSK-G")
    after = row(unit, job)
    assert after.total_minor == before.quote["high"] == after.quote["total"]
    assert after.quote["low"] == after.quote["total"] == after.quote["high"]


def test_weighing_keeps_nothing(unit) -> None:
    job = a_booked_job(unit, OPEN)
    weigh_colour(unit, job.job_id, "A", "DUSK-G", Gloss.SATIN)
    assert read_declared(row(unit, job).declared).sets[0].colour_open


def test_choosing_writes_the_cards_and_lets_received_parts_go_to_work(unit) -> None:
    job = a_booked_job(unit, OPEN)
    receive(unit, job)
    choose(unit, job, "R9005-S")
    assert state(unit, job) is JobState.IN_WORK
    for card in cards(unit, job):
        assert card.colour == "Jet black satin"
        assert [coat.powder_code for coat in card.coats] == ["R9005-S", "CLEAR-S"]
    finish = read_declared(row(unit, job).declared).sets[0].finish
    assert (finish.colour, finish.decide_from_sample) == ("R9005-S", False)
    (chosen,) = events(unit, job, "colour")
    assert chosen.says.values == {"colour": ColourName("Jet black satin")}


def test_chosen_at_the_door_it_starts_when_received(unit) -> None:
    job = a_booked_job(unit, OPEN)
    choose(unit, job, "R9005-S")
    receive(unit, job)
    assert state(unit, job) is JobState.IN_WORK


def test_a_finding_still_waits_after_the_colour_and_the_colour_after_a_finding(unit) -> None:
    job = a_booked_job(unit, OPEN)
    finding = raise_it(unit, job, painted(unit, job, 1, 2, 3, 4))
    receive(unit, job)
    choose(unit, job, "R9005-S")
    assert state(unit, job) is JobState.WAITING
    answer(unit, job, finding)
    assert state(unit, job) is JobState.IN_WORK

    other = a_booked_job(unit, OPEN)
    found = raise_it(unit, other, painted(unit, other, 1, 2, 3, 4))
    check_in.as_declared(unit, other.job_id, who=None)
    for number in range(201, 205):
        check_in.give_tag(unit, other.job_id, str(number), who=None)
    check_in.receive(
        unit,
        other.job_id,
        expected_event_id=last_event_id(unit, other),
        once_token=a_token(),
        who=None,
    )
    answer_finding(unit, other.job_id, found, accepted=True, how="counter", who=None)
    assert state(unit, other) is not JobState.IN_WORK


def test_a_colour_in_stock_never_makes_the_date_later(unit) -> None:
    job = a_booked_job(unit, OPEN)
    promise = row(unit, job).promise_at
    assert weigh_colour(unit, job.job_id, "A", "R9005-S", Gloss.SATIN).ready_at <= promise


def test_a_colour_in_stock_keeps_the_day_that_was_told_for_it(unit, monkeypatch) -> None:
    job = a_booked_job(unit, OPEN)
    told = row(unit, job).promise_at - timedelta(days=5)
    tell_expected(unit, job, told)
    # other parts came in the meantime, so that a day begun now would be a later one
    soonest = told + timedelta(days=2)
    monkeypatch.setattr(
        "portal.orders.counter.choosing_colour.ready_if_begun_now", lambda *_: soonest
    )
    for colour in ("R9005-S", "DUSK-G"):
        assert weigh_colour(unit, job.job_id, "A", colour, Gloss.SATIN).ready_at == told
    assert weigh_colour(unit, job.job_id, "A", "STRAW-G", Gloss.SATIN).ready_at > told
    choose(unit, job, "R9005-S")
    after = row(unit, job)
    assert (after.promise_at, after.expected_at) == (told, None)


def test_a_colour_that_must_be_ordered_keeps_the_promise_that_counted_it(unit) -> None:
    job = a_booked_job(unit, OPEN)
    promise = row(unit, job).promise_at
    weighed = weigh_colour(unit, job.job_id, "A", "STRAW-G", Gloss.SATIN)
    assert weighed.ready_at <= promise
    assert weighed.was_at == promise


@pytest.mark.parametrize("colour", ["KILN-T", "GONE", ""])
def test_what_is_not_on_the_list_is_refused(unit, colour) -> None:
    job = a_booked_job(unit, OPEN)
    with pytest.raises(Refused) as caught:
        weigh_colour(unit, job.job_id, "A", colour, Gloss.SATIN)
    assert caught.value.key == "plate"


def test_a_colour_is_chosen_once(unit) -> None:
    job = a_booked_job(unit, OPEN)
    weighed = weigh_colour(unit, job.job_id, "A", "R9005-S", Gloss.SATIN)
    choose(unit, job, "R9005-S")
    with pytest.raises(Already):
        weigh_colour(unit, job.job_id, "A", "R9010-G", Gloss.SATIN)
    with pytest.raises(Overtaken):
        choose_colour(
            unit, job.job_id, "A", weighed, expected_event_id=0, once_token=a_token(), who=None
        )


def test_no_powder_leaves_the_stock_for_a_colour_that_nobody_chose(unit) -> None:
    with unit.read() as session:
        before = dict(session.execute(sa.select(PowderRow.code, PowderRow.stock_g)).all())
    job = a_booked_job(unit, OPEN)
    receive(unit, job)
    with unit.read() as session:
        assert dict(session.execute(sa.select(PowderRow.code, PowderRow.stock_g)).all()) == before
        assert session.scalars(sa.select(StockMove).where(StockMove.why == "load")).all() == []


def test_the_date_of_an_open_colour_counts_the_powder_from_the_drop_off(unit) -> None:
    told = read_declared({"sets": [OPEN], "bringing": "bare"})
    plain = read_declared(
        {"sets": [{**OPEN, "finish": {**OPEN["finish"], "colour": "R9005-S",
                                      "decide_from_sample": False}}], "bringing": "bare"}
    )  # fmt: skip
    times = free_times(unit)
    left, known = (
        times.offers(assess(order, times.shop, times.shop.day(times.now)))
        for order in (told, plain)
    )
    assert left[0].ready_at - known[0].ready_at >= timedelta(days=5)
