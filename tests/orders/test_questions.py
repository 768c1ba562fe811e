"""A question before booking: sent with the draft as it stands, and answered by letter."""

from dataclasses import replace
from datetime import timedelta

import pytest
import sqlalchemy as sa

from portal.craft.declared import read_declared
from portal.orders.access import signing_in
from portal.orders.counter import answering_questions
from portal.orders.counter.questions_view import answered_lately, question_view, to_answer
from portal.orders.intake import drafts, questions
from portal.orders.intake.draft_answers import Step
from portal.orders.intake.draft_view import Times, look
from portal.orders.kernel.errors import Already, RateLimited, Refused, Unknown
from portal.shop.roles import Role
from portal.store.tables import Audit, Letter, Photo
from tests.factories import a_token
from tests.orders.asked_drafts import ASKING, SET, a_draft, a_photo, ask, count, rows
from tests.readers import english


@pytest.fixture
def token(unit) -> str:
    return a_draft(unit)


@pytest.fixture
def odd(unit) -> int:
    return signing_in.add_person(
        unit, login="odd", name="Odd", role=Role.COUNTER, password="seven brass hooks in a row"
    )


def test_a_question_takes_the_draft_along_and_waits_at_the_counter(unit, token) -> None:
    ask(unit, token)
    (line,) = to_answer(unit)
    assert (line.name, line.text) == ("Robin Sample", ASKING.text)
    seen = question_view(unit, line.question_id)
    assert seen.sets[0].count == 4
    assert seen.step is Step.ON_THEM
    assert seen.assessment is not None
    assert seen.assessment.quote.total == look(unit, token).assessment.quote.total
    assert not seen.went_on
    assert seen.link == f"/r/{token}"


def test_who_asked_first_is_answered_first(unit, token, clock) -> None:
    for text in ("One?", "Two?"):
        ask(unit, token, replace(ASKING, text=text))
        clock.advance(hours=1)
    assert [one.text for one in to_answer(unit)] == ["One?", "Two?"]


def test_asking_keeps_the_draft_for_thirty_days_and_a_save_does_not_shorten_that(
    unit, token, clock
) -> None:
    ask(unit, token)
    assert look(unit, token).until == unit.now() + timedelta(days=30)
    clock.advance(days=6)
    drafts.save(unit, token, "note", 99, lambda a: replace(a, confirmed=("x",)))
    clock.advance(days=23)
    assert look(unit, token).sets


def test_the_letter_says_that_we_have_it_and_not_what_a_stranger_typed(unit, token) -> None:
    ask(unit, token)
    (letter,) = rows(unit, Letter)
    assert letter.to == "robin@example.com"
    assert f"/r/{token}" in letter.text
    for typed in (ASKING.text, ASKING.name):
        assert typed not in letter.text + letter.html + letter.subject


def test_the_answer_goes_out_with_the_link_and_stands_in_the_draft(unit, token, odd, clock) -> None:
    ask(unit, token)
    clock.advance(days=20)
    (line,) = to_answer(unit)
    answering_questions.answer(
        unit, line.question_id, " Yes, it is part\nof the price. ", once_token=a_token(), who=odd
    )
    assert to_answer(unit) == ()
    letter = rows(unit, Letter)[-1]
    for told in (ASKING.text, "Yes, it is part\nof the price.", f"/r/{token}", "Robin Sample"):
        assert told in letter.text
    seen = look(unit, token)
    assert seen.questions[0].answer == "Yes, it is part\nof the price."
    assert seen.until == unit.now() + timedelta(days=30)
    assert answered_lately(unit)[0].question_id == line.question_id
    (deed,) = [one for one in rows(unit, Audit) if one.verb == "answer_question"]
    assert (deed.person_id, english(deed.says)) == (odd, f"question {line.question_id}")


def test_an_answer_by_phone_closes_the_question_without_a_letter(unit, token, odd) -> None:
    ask(unit, token)
    (line,) = to_answer(unit)
    answering_questions.close(unit, line.question_id, "Called.", once_token=a_token(), who=odd)
    assert len(rows(unit, Letter)) == 1
    seen = question_view(unit, line.question_id)
    assert (seen.answer, seen.by_letter, seen.answered_by) == ("Called.", False, "Odd")


def test_an_answer_that_came_back_waits_until_the_customer_was_called(unit, token, odd) -> None:
    ask(unit, token)
    (line,) = to_answer(unit)
    answering_questions.answer(unit, line.question_id, "Yes.", once_token=a_token(), who=odd)
    with pytest.raises(Already):
        answering_questions.close(unit, line.question_id, "", once_token=a_token(), who=odd)
    given_up = sa.update(Letter).where(Letter.kind == "question_answered").values(state="given_up")
    unit.write(lambda session: session.execute(given_up))
    assert [one.undelivered for one in to_answer(unit)] == [True]
    answering_questions.close(unit, line.question_id, "", once_token=a_token(), who=odd)
    assert to_answer(unit) == ()
    seen = question_view(unit, line.question_id)
    assert (seen.answer, seen.by_letter, seen.line.undelivered) == ("Yes.", False, False)


def test_two_who_answer_the_same_question_are_one_answer(unit, token, odd) -> None:
    ask(unit, token)
    number = to_answer(unit)[0].question_id
    once = a_token()
    for _ in range(2):
        answering_questions.answer(unit, number, "Yes.", once_token=once, who=odd)
    with pytest.raises(Already):
        answering_questions.answer(unit, number, "No.", once_token=a_token(), who=odd)
    assert question_view(unit, number).answer == "Yes."


@pytest.mark.parametrize("words", ["", "  \n", "x" * 4001])
def test_an_answer_needs_words_but_not_too_many(unit, token, odd, words: str) -> None:
    ask(unit, token)
    with pytest.raises(Refused) as told:
        answering_questions.answer(
            unit, to_answer(unit)[0].question_id, words, once_token=a_token(), who=odd
        )
    assert told.value.key == "answer"


def test_an_unknown_question_is_unknown(unit, odd) -> None:
    with pytest.raises(Unknown):
        question_view(unit, 99)
    with pytest.raises(Unknown):
        answering_questions.answer(unit, 99, "Yes.", once_token=a_token(), who=odd)


def test_pressing_twice_is_one_question(unit, token) -> None:
    for _ in range(2):
        ask(unit, token, once="once-and-for-all")
    assert len(to_answer(unit)) == 1


@pytest.mark.parametrize("text", ["", " \n ", "x" * 2001])
def test_a_question_needs_words_but_not_too_many(unit, token, text: str) -> None:
    with pytest.raises(Refused) as told:
        ask(unit, token, replace(ASKING, text=text))
    assert told.value.key == "question"
    assert to_answer(unit) == ()


def test_three_wait_for_an_answer_and_the_next_one_must_wait(unit, token) -> None:
    for n in range(questions.MOST_OPEN):
        ask(unit, token, replace(ASKING, text=f"{n}?"))
    with pytest.raises(Refused):
        ask(unit, token)


def test_one_place_that_asks_and_asks_is_slowed_down(unit) -> None:
    def fresh(n: int, address: str) -> None:
        ask(
            unit,
            drafts.begin(unit),
            replace(ASKING, email=f"robin{n}@example.com"),
            address=address,
        )

    for n in range(8):
        fresh(n, "192.0.2.1")
    with pytest.raises(RateLimited):
        fresh(8, "192.0.2.1")
    fresh(9, "192.0.2.2")


def test_one_box_gets_only_so_many_letters(unit) -> None:
    for n in range(5):
        ask(unit, drafts.begin(unit), address=f"192.0.2.{n}")
    with pytest.raises(RateLimited):
        ask(unit, drafts.begin(unit), replace(ASKING, email="ROBIN@example.com"), address="x")


def test_the_photo_goes_with_the_question_and_a_second_one_replaces_it(unit, token) -> None:
    for _ in range(2):
        questions.keep_photo(unit, token, a_photo(), limit_mb=5)
    kept = questions.unsent_photo(unit, token)
    assert count(unit, Photo) == 1
    assert look(unit, token).photos == {}
    ask(unit, token)
    seen = question_view(unit, to_answer(unit)[0].question_id)
    assert seen.photo == kept
    assert look(unit, token).questions[0].photo == kept
    assert questions.unsent_photo(unit, token) == ""


def test_a_photo_can_be_taken_back_before_the_question_is_sent(unit, token) -> None:
    questions.keep_photo(unit, token, a_photo(), limit_mb=5)
    # the page of the parts removes its own photos alone
    drafts.remove_photo(unit, token, questions.unsent_photo(unit, token))
    assert count(unit, Photo) == 1
    questions.remove_photo(unit, token)
    assert count(unit, Photo) == 0


def test_what_was_typed_and_not_finished_is_seen_too(unit, token) -> None:
    answers = look(unit, token, times=Times.NONE).answers
    told = questions.as_it_stands(answers, Step.PARTS, [("Rim", "19 something")])
    questions.prepare(unit, token, told)
    ask(unit, token)
    seen = question_view(unit, to_answer(unit)[0].question_id)
    assert seen.typed == (("Rim", "19 something"),)
    assert seen.step is Step.PARTS


def test_an_order_that_went_on_in_another_window_is_asked_about_as_it_is(unit, token) -> None:
    answers = look(unit, token, times=Times.NONE).answers
    questions.prepare(unit, token, questions.as_it_stands(answers, Step.PARTS, [("Rim", "19")]))
    fewer = read_declared({"sets": [{**SET, "count": 2}]})
    drafts.save(unit, token, "set:A", 9, lambda a: replace(a, declared=fewer))
    ask(unit, token)
    seen = question_view(unit, to_answer(unit)[0].question_id)
    assert (seen.sets[0].count, seen.typed) == (2, ())
    more = read_declared({"sets": [{**SET, "count": 5}]})
    drafts.save(unit, token, "set:A", 10, lambda a: replace(a, declared=more))
    seen = question_view(unit, seen.line.question_id)
    assert (seen.sets[0].count, seen.went_on) == (2, True)


def test_who_asked_needs_not_type_the_name_again(unit, token) -> None:
    ask(unit, token)
    unsent = look(unit, token).answers.unsent[Step.YOU.value]
    assert unsent["name"] == ["Robin Sample"]
    assert unsent["email"] == ["robin@example.com"]
