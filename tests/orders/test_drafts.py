"""Drafts: begun, saved page by page, resumed, swept."""

from dataclasses import replace
from datetime import timedelta

import pytest
import sqlalchemy as sa

from portal.craft.declared import read_declared
from portal.orders.intake import drafts
from portal.orders.intake.draft_answers import (
    Answers,
    Contact,
    Step,
    read_answers,
    write_answers,
)
from portal.orders.intake.draft_view import Times, look
from portal.orders.kernel.errors import Expired, Overtaken, Refused, Unknown
from portal.orders.office.retention import sweep
from portal.shop.states import TellBy
from portal.store.tables import Draft, Letter

SET = {"kind": "wheel", "count": 4, "build": "cast", "rim": "8Jx18 ET35"}


def told(**more):
    declared = read_declared({"sets": [{**SET, **more}]})
    return lambda answers: replace(answers, declared=declared)


def version(unit, token: str) -> int:
    return look(unit, token, times=Times.NONE).version


@pytest.fixture
def token(unit) -> str:
    return drafts.begin(unit)


def test_a_draft_is_kept_from_the_first_page(unit, token) -> None:
    seen = look(unit, token)
    assert seen.reached is Step.PARTS
    assert seen.until == unit.now() + timedelta(days=7)


def test_what_was_saved_is_there_again(unit, token) -> None:
    drafts.save(unit, token, "set:A", 1, told(layers=["chrome"]))
    seen = look(unit, token)
    assert seen.sets[0].layers[0].value == "chrome"
    assert seen.reached is Step.COMES_OFF


def test_a_link_may_be_typed_in_lower_case(unit, token) -> None:
    assert look(unit, token.lower()).token == token


def test_each_save_puts_the_end_off_by_seven_days(unit, token, clock) -> None:
    clock.advance(days=6)
    drafts.save(unit, token, "set:A", 1, told())
    clock.advance(days=6)
    assert look(unit, token).sets


def test_after_seven_days_a_draft_is_over_and_then_swept(unit, token, clock) -> None:
    clock.advance(days=7, seconds=1)
    for _ in range(2):
        with pytest.raises(Expired):
            look(unit, token)
        sweep(unit)
    with unit.read() as session:
        assert session.scalar(sa.select(sa.func.count(Draft.id))) == 0


def test_an_unknown_link_is_unknown(unit) -> None:
    for link in ("", "A" * 26, "ä" * 26, "\x00"):
        with pytest.raises(Unknown):
            look(unit, link)


def test_an_old_page_does_not_undo_a_newer_answer(unit, token) -> None:
    drafts.save(unit, token, "set:A", 1, told())
    drafts.save(unit, token, "set:A", 2, told(count=5))
    with pytest.raises(Overtaken):
        drafts.save(unit, token, "set:A", 1, told(count=3))
    assert look(unit, token).sets[0].count == 5


def test_an_old_page_may_answer_what_nobody_else_has(unit, token) -> None:
    first = version(unit, token)
    drafts.save(unit, token, "set:A", first, told())
    contact = Contact("Taylor", "taylor@example.com", "+447700900123")
    drafts.save(unit, token, "you", first, lambda a: replace(a, contact=contact))
    seen = look(unit, token)
    assert seen.answers.contact == contact
    assert seen.sets


def test_the_same_answer_twice_is_one_save(unit, token) -> None:
    once = drafts.save(unit, token, "set:A", 1, told())
    assert drafts.save(unit, token, "set:A", 1, told()) == once


def test_a_set_that_is_added_late_is_asked_about_before_the_order_goes_on(unit, token) -> None:
    def both(answers: Answers) -> Answers:
        one = {**SET, "layers": ["bare"], "finish": {"system": "single", "colour": "R9005-S",
                                                     "gloss": "satin"}}  # fmt: skip
        declared = read_declared(
            {"bringing": "bare", "sets": [{**one, "key": "A"}, {**SET, "key": "B"}]}
        )
        return replace(answers, declared=declared, saved={**answers.saved, "fitted:A": 1})

    drafts.save(unit, token, "set:B", 1, both)
    assert look(unit, token).reached is Step.ON_THEM
    drafts.remove_set(unit, token, "B")
    assert look(unit, token).reached is Step.DAY


def test_a_refused_set_holds_the_order(unit, token) -> None:
    drafts.save(unit, token, "set:A", 1, told(layers=["bare"], damage=["crack"]))
    seen = look(unit, token)
    assert seen.refused
    assert seen.reached.number <= Step.ON_THEM.number
    assert seen.offers == ()


def test_price_and_date_stand_as_soon_as_the_size_is_known(unit, token) -> None:
    drafts.save(unit, token, "set:A", 1, told())
    seen = look(unit, token)
    assert seen.assessment.quote.total.minor > 0
    assert seen.promise.ready_at > seen.promise.end
    assert seen.assessment.assumed


def test_more_wheels_are_never_ready_earlier_nor_cheaper(unit, token) -> None:
    found = []
    for count in (1, 4, 12, 40):
        drafts.save(unit, token, "set:A", version(unit, token), told(count=count))
        seen = look(unit, token)
        found.append((seen.promise.ready_at, seen.assessment.quote.total.minor))
    assert found == sorted(found)
    assert sorted(price for _, price in found) == [price for _, price in found]


def test_a_look_ahead_changes_nothing(unit, token) -> None:
    drafts.save(unit, token, "set:A", 1, told())
    assert look(unit, token, told(count=8)).sets[0].count == 8
    assert look(unit, token).sets[0].count == 4


def test_a_powder_that_is_no_longer_offered_is_asked_again(unit, token) -> None:
    finish = {"system": "single", "colour": "GONE-1", "gloss": "gloss"}
    drafts.save(unit, token, "set:A", 1, told(layers=["bare"], finish=finish))
    seen = look(unit, token)
    assert seen.sets[0].finish is None
    assert seen.reached.number <= Step.FINISH.number


def test_the_link_is_mailed_a_few_times_and_then_no_more(unit, token) -> None:
    for _ in range(drafts.RESUME_LETTERS):
        drafts.send_resume_link(unit, token, "taylor@example.com")
    with pytest.raises(Refused):
        drafts.send_resume_link(unit, token, "taylor@example.com")
    with unit.read() as session:
        letters = list(session.scalars(sa.select(Letter)))
    assert len(letters) == drafts.RESUME_LETTERS
    assert all(f"/r/{token}" in letter.text for letter in letters)


def test_answers_survive_being_written_and_read(unit) -> None:
    answers = Answers(
        declared=read_declared({"sets": [SET], "bringing": "complete", "rush": True}),
        contact=Contact("Zoë", "zoe@example.com", "+447700900123", TellBy.PHONE, "Van"),
        slot=unit.now(),
        confirmed=("a", "b"),
        saved={"set:A": 3},
    )
    assert read_answers(write_answers(answers)) == answers


def test_an_empty_draft_is_an_empty_row(unit, token) -> None:
    with unit.read() as session:
        assert session.scalar(sa.select(Draft.answers)) == {}
