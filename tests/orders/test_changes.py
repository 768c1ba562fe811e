"""What a customer changes at the counter: each change with its price and date, agreed at once."""

from dataclasses import replace

import pytest
import sqlalchemy as sa

from portal.craft.bringing import NewTyres
from portal.craft.finishes import can_be_made
from portal.craft.parts import Bringing, Damage, Item, Layer
from portal.orders.counter import check_in, findings
from portal.orders.counter.change_options import change_options
from portal.orders.counter.finding_answers import answer_all, answer_finding
from portal.orders.counter.finding_impact import weigh
from portal.orders.counter.job_view import job_view
from portal.orders.kernel.errors import Refused
from portal.shop.moves import JobState
from portal.shop.pricing.differences import Difference, DifferenceKind
from portal.shop.states import Arrival, FindingAnswer, LetterKind, LetterState
from portal.store.letters import Letter
from portal.store.tables import Finding, Job, Part
from tests.factories import a_booked_job, a_job_in_work, a_token, last_event_id, state
from tests.orders.test_findings import declared, painted, raise_it
from tests.readers import english, refusing


def agree(unit, job, found: Difference, *, days: int = 0) -> int:
    return findings.raise_finding(
        unit,
        job.job_id,
        found,
        days=days,
        agreed=True,
        expected_event_id=last_event_id(unit, job),
        once_token=a_token(),
        who=None,
    )


def own(unit, job):
    return declared(unit, job).sets[0]


def more(unit, job, count: int = 1) -> Difference:
    first = change_options(unit, job.job_id, "A").next_number
    numbers = tuple(range(first, first + count))
    return Difference("A", numbers, replace(own(unit, job), count=count), more=True)


def row(unit, job):
    with unit.read() as session:
        return session.get(Job, job.job_id)


def parts(unit, job):
    with unit.read() as session:
        query = sa.select(Part).where(Part.job_id == job.job_id).order_by(Part.number)
        return session.scalars(query).all()


def letters(unit, job, kind=LetterKind.FINDING):
    with unit.read() as session:
        query = sa.select(Letter).where(
            Letter.job_id == job.job_id,
            Letter.kind == kind,
            Letter.state != LetterState.TAKEN_BACK,
        )
        return session.scalars(query.order_by(Letter.id)).all()


def test_one_more_wheel_is_priced_like_the_others_and_gets_a_number_of_its_own(unit) -> None:
    job = a_booked_job(unit)
    before = row(unit, job).total_minor
    weighed = weigh(unit, job.job_id, more(unit, job))
    assert weighed.kind is DifferenceKind.MORE
    assert english(weighed.says[0]) == "One wheel more than ordered: number 5."
    agree(unit, job, more(unit, job))
    assert own(unit, job).count == 5
    assert row(unit, job).total_minor == before + weighed.amount_minor > before
    last = parts(unit, job)[-1]
    assert (last.number, last.set_key, last.arrived) == (5, "A", Arrival.AS_DECLARED)


def test_more_wheels_go_home_as_they_came_until_the_customer_agrees(unit) -> None:
    job = a_booked_job(unit)
    finding = raise_it(unit, job, more(unit, job, 2))
    assert [p.arrived for p in parts(unit, job)[4:]] == [Arrival.TURNED_AWAY] * 2
    assert own(unit, job).count == 4
    answer_finding(unit, job.job_id, finding, accepted=False, how="counter", who=None)
    assert [p.arrived for p in parts(unit, job)[4:]] == [Arrival.TURNED_AWAY] * 2
    assert own(unit, job).count == 4


def test_a_wheel_more_that_was_a_mistake_is_gone_again(unit) -> None:
    job = a_booked_job(unit)
    finding = raise_it(unit, job, more(unit, job))
    findings.withdraw(unit, job.job_id, finding, who=None)
    assert len(parts(unit, job)) == 4


def test_a_wheel_that_comes_while_the_others_are_in_work_starts_at_the_beginning(unit) -> None:
    job = a_job_in_work(unit)
    agree(unit, job, more(unit, job))
    last = parts(unit, job)[-1]
    assert last.stage == parts(unit, job)[0].stage
    assert state(unit, job) is JobState.IN_WORK


def test_another_colour_changes_price_card_and_name(unit) -> None:
    job = a_booked_job(unit)
    options = change_options(unit, job.job_id, "A")
    finish = options.own.finish
    other = next(
        p.code
        for p in options.powders
        if p.code != finish.colour
        and can_be_made(replace(options.own, finish=replace(finish, colour=p.code)), options.stock)
    )
    wanted = replace(options.own, finish=replace(finish, colour=other))
    found = Difference("A", options.numbers, wanted, changed=("finish",))
    weighed = weigh(unit, job.job_id, found)
    assert weighed.kind is DifferenceKind.FINISH
    assert english(weighed.says[0]).startswith("Another finish for 4 wheels (numbers 1, 2, 3, 4): ")
    agree(unit, job, found)
    assert own(unit, job).finish.colour == other
    coats = parts(unit, job)[0].work["card"]["coats"]
    assert any(coat["powder_code"] == other for coat in coats)


def test_parts_that_are_coated_get_no_other_colour(unit) -> None:
    job = a_job_in_work(unit)
    with unit.read() as session:
        first = session.get(Part, job.part_ids[0])
    unit.write(lambda s: s.execute(sa.update(Part).where(Part.id == first.id).values(coats_done=1)))
    options = change_options(unit, job.job_id, "A")
    other = next(p.code for p in options.powders if p.code != options.own.finish.colour)
    wanted = replace(options.own, finish=replace(options.own.finish, colour=other))
    with refusing(Refused, "already has powder on it"):
        weigh(unit, job.job_id, Difference("A", (1,), wanted, changed=("finish",)))


@pytest.mark.parametrize(
    ("tyres", "bringing", "says"),
    [
        (NewTyres.SAME, Bringing.COMPLETE, "put the same ones back on and balance them"),
        (NewTyres.BRING, Bringing.COMPLETE, "fit the new ones and balance them"),
        (NewTyres.LATER, None, "Your tyre shop fits new ones later"),
    ],
)
def test_tyres_that_were_to_be_off_are_taken_off_fitted_and_balanced_as_is_wanted(
    unit, tyres, bringing, says
) -> None:
    job = a_booked_job(unit)
    assert declared(unit, job).bringing is Bringing.BARE
    real = replace(own(unit, job), fitted=(Item.TYRE, Item.VALVE), new_tyres=tyres)
    found = Difference("A", (1, 2, 3, 4), real, changed=("fitted", "new_tyres"), bringing=bringing)
    weighed = weigh(unit, job.job_id, found)
    told = " ".join(map(english, weighed.says))
    assert says in told
    lines = " ".join(english(line.says) for line in weighed.lines).lower()
    assert ("balanc" in lines) == (tyres is not NewTyres.LATER)
    agree(unit, job, found)
    assert declared(unit, job).bringing is (bringing or Bringing.BARE)
    assert parts(unit, job)[0].needs_refit == (tyres is not NewTyres.LATER)


def test_what_is_found_next_is_weighed_on_top_so_that_the_sums_add_up(unit) -> None:
    """Two findings for each of which the strip run alone takes days are not twice as late."""
    job = a_booked_job(unit)
    first = raise_it(unit, job, painted(unit, job, 1))
    second = raise_it(unit, job, painted(unit, job, 2))
    asked = job_view(unit, job.code).question
    with unit.read() as session:
        one, two = session.get(Finding, first), session.get(Finding, second)
    assert one.days > 0
    assert two.days == 0
    together = weigh(a_unit := unit, a_booked_job(a_unit).job_id, painted(a_unit, job, 1, 2))
    assert asked.amount.minor == one.amount_minor + two.amount_minor == together.amount_minor
    answer_all(unit, job.job_id, asked.read, accepted=True, how="counter", who=None)
    assert row(unit, job).total_minor == asked.total.minor
    assert row(unit, job).promise_at == asked.ready_at


def test_what_is_left_of_a_question_is_weighed_anew_when_one_of_it_falls_away(unit) -> None:
    job = a_booked_job(unit)
    first = raise_it(unit, job, painted(unit, job, 1))
    second = raise_it(unit, job, painted(unit, job, 2))
    findings.withdraw(unit, job.job_id, first, who=None)
    with unit.read() as session:
        left = session.get(Finding, second)
    assert left.days > 0
    assert job_view(unit, job.code).question.read.findings == (second,)


def test_a_second_finding_on_a_part_builds_on_the_first_that_still_waits(unit) -> None:
    job = a_booked_job(unit)
    raise_it(unit, job, painted(unit, job, 2))
    options = change_options(unit, job.job_id, "A", part=2)
    assert options.own.layers == (Layer.FACTORY_PAINT,)
    told = options.order.as_declared(options.own.key, (2,))
    bent = replace(told, damage=(Damage.BEND,))
    agree(unit, job, Difference(options.own.key, (2,), bent, changed=("damage",)))
    sets = declared(unit, job).sets
    assert [(s.count, s.layers, s.damage) for s in sets] == [
        (3, (Layer.BARE,), ()),
        (1, (Layer.FACTORY_PAINT,), (Damage.BEND,)),
    ]
    with unit.read() as session:
        answers = session.scalars(sa.select(Finding.answer)).all()
    assert answers == [FindingAnswer.ACCEPTED] * 2


def test_what_is_found_at_check_in_is_asked_in_one_letter_when_the_job_is_received(unit) -> None:
    job = a_booked_job(unit)
    raise_it(unit, job, painted(unit, job, 1))
    raise_it(unit, job, Difference("A", (4,), own(unit, job), missing=True))
    assert letters(unit, job) == []
    check_in.as_declared(unit, job.job_id, who=None)
    for number in range(101, 104):
        check_in.give_tag(unit, job.job_id, str(number), who=None)
    check_in.receive(
        unit, job.job_id, expected_event_id=last_event_id(unit, job), once_token=a_token(), who=None
    )
    (letter,) = letters(unit, job)
    asked = job_view(unit, job.code).question
    assert "old finish" in letter.text
    assert "was not brought" in letter.text
    assert f"New total: £{asked.total.major:.2f}".removesuffix(".00") in letter.text


def test_what_the_customer_agreed_to_at_the_counter_is_asked_in_no_letter(unit) -> None:
    job = a_booked_job(unit)
    agree(unit, job, painted(unit, job, 1))
    assert letters(unit, job) == []


def test_a_letter_that_has_not_left_is_replaced_by_one_that_says_it_all(unit) -> None:
    job = a_job_in_work(unit)
    raise_it(unit, job, painted(unit, job, 1))
    raise_it(unit, job, Difference("A", (2,), own(unit, job), note="It smells of oil."))
    (letter,) = letters(unit, job)
    assert "old finish" in letter.text
    assert "It smells of oil." in letter.text


def test_a_date_that_the_floor_can_not_keep_is_told_with_the_change(unit) -> None:
    job = a_booked_job(unit)
    promise = row(unit, job).promise_at
    agree(unit, job, more(unit, job), days=3)
    assert row(unit, job).promise_at > promise


def test_the_letter_on_arrival_tells_what_was_agreed_at_the_counter_and_the_new_price(unit) -> None:
    job = a_booked_job(unit)
    agree(unit, job, Difference("A", (4,), own(unit, job), missing=True))
    check_in.as_declared(unit, job.job_id, who=None)
    for number in range(101, 104):
        check_in.give_tag(unit, job.job_id, str(number), who=None)
    check_in.receive(
        unit, job.job_id, expected_event_id=last_event_id(unit, job), once_token=a_token(), who=None
    )
    (letter,) = letters(unit, job, LetterKind.RECEIVED)
    assert "What we agreed at the counter:" in letter.text
    assert "One wheel was not brought: number 4. -£" in letter.text
    price = row(unit, job).total_minor
    assert f"New total: £{price // 100}" in letter.text
