"""Questions and links end with their draft, go with a job, and are erased with its customer."""

import pytest
import sqlalchemy as sa

from portal.orders.access import signing_in
from portal.orders.counter import answering_questions
from portal.orders.counter.questions_view import to_answer
from portal.orders.intake import drafts, questions
from portal.orders.intake.asked_view import asked_of_job
from portal.orders.intake.draft_view import look
from portal.orders.intake.question_rows import to_job
from portal.orders.kernel.errors import Ended, Refused, Unknown
from portal.orders.office.erasing import erase, erase_asker
from portal.orders.office.retention import sweep
from portal.shop.roles import Role
from portal.store.tables import Draft, EndedDraft, Job, Letter, Photo, Question
from tests.factories import a_booked_job, a_token
from tests.orders.asked_drafts import a_draft, a_photo, ask, count, rows

pytestmark = pytest.mark.postgres


@pytest.fixture
def token(unit) -> str:
    return a_draft(unit)


@pytest.fixture
def odd(unit) -> int:
    return signing_in.add_person(
        unit, login="odd", name="Odd", role=Role.COUNTER, password="seven brass hooks in a row"
    )


def test_a_draft_that_ends_takes_its_questions_photos_and_letters_along(unit, token, clock) -> None:
    questions.keep_photo(unit, token, a_photo(), limit_mb=5)
    ask(unit, token)
    drafts.send_resume_link(unit, token, "robin@example.com")
    kept = drafts.begin(unit)
    drafts.send_resume_link(unit, kept, "sam@example.com")
    clock.advance(days=30, seconds=-1)
    sweep(unit)
    assert len(rows(unit, Question)) == 1
    clock.advance(seconds=1)
    sweep(unit)
    for table in (Question, Photo, Letter, Draft):
        assert rows(unit, table) == [], table
    with pytest.raises(Ended):
        look(unit, token)


def test_a_booked_draft_hands_its_questions_to_the_job_and_erasing_takes_them(
    unit, token, odd, clock
) -> None:
    questions.keep_photo(unit, token, a_photo(), limit_mb=5)
    ask(unit, token)
    questions.keep_photo(unit, token, a_photo(), limit_mb=5)  # of a question that is never sent
    job = a_booked_job(unit)

    def book(session) -> None:
        row = session.scalars(sa.select(Draft)).one()
        to_job(session, row.id, job.job_id)
        session.execute(sa.update(Photo).values(draft_id=None, job_id=job.job_id))
        row.job_id = job.job_id

    unit.write(book)
    assert count(unit, Photo) == 1
    clock.advance(days=31)
    sweep(unit)
    (line,) = to_answer(unit)
    answering_questions.answer(unit, line.question_id, "Yes.", once_token=a_token(), who=odd)
    assert f"/J/{job.token}" in rows(unit, Letter)[-1].text
    with unit.read() as session:
        assert asked_of_job(session, job.job_id)[0].answer == "Yes."
    unit.write(lambda session: erase(session, session.get_one(Job, job.job_id).customer))
    assert rows(unit, Question) == []
    assert count(unit, Photo) == 0
    assert {(one.to, one.text) for one in rows(unit, Letter)} == {("", "")}


def test_who_asks_to_be_forgotten_is_forgotten_at_once(unit, token, odd) -> None:
    questions.keep_photo(unit, token, a_photo(), limit_mb=5)
    ask(unit, token)
    drafts.send_resume_link(unit, token, "robin@example.com")
    other = a_draft(unit)
    ask(unit, other)
    first, second = to_answer(unit)
    erase_asker(unit, first.question_id, who=odd)
    assert [one.question_id for one in to_answer(unit)] == [second.question_id]
    with unit.read() as session:
        assert session.scalars(sa.select(Draft.token)).all() == [other]
    assert count(unit, Photo) == 0
    assert len(rows(unit, Letter)) == 1
    with pytest.raises(Unknown):
        look(unit, token)
    with pytest.raises(Unknown):
        erase_asker(unit, first.question_id, who=odd)


def test_a_booked_order_is_asked_about_by_phone(unit, token) -> None:
    job = a_booked_job(unit)
    unit.write(lambda s: s.execute(sa.update(Draft).values(job_id=job.job_id)))
    for verb in (
        lambda: ask(unit, token),
        lambda: questions.keep_photo(unit, token, a_photo(), limit_mb=5),
    ):
        with pytest.raises(Refused):
            verb()


def test_a_link_that_ended_says_when_and_holds_nothing_personal(unit, token, clock) -> None:
    until = look(unit, token).until
    clock.advance(days=8)
    for _ in range(2):
        with pytest.raises(Ended) as told:
            look(unit, token.lower())
        assert (told.value.at, told.value.booked) == (until, False)
        sweep(unit)
    (kept,) = rows(unit, EndedDraft)
    assert token not in kept.token_hash
    assert len(kept.token_hash) == 64
    clock.advance(days=181)
    sweep(unit)
    with pytest.raises(Unknown):
        look(unit, token)


def test_the_link_of_a_draft_that_was_booked_says_so(unit, token, clock) -> None:
    job = a_booked_job(unit)
    unit.write(lambda s: s.execute(sa.update(Draft).values(job_id=job.job_id)))
    clock.advance(days=8)
    sweep(unit)
    with pytest.raises(Ended) as told:
        look(unit, token)
    assert told.value.booked


def test_unknown_and_ended_links_cost_the_same_statements(unit, token, clock) -> None:
    clock.advance(days=8)
    sweep(unit)
    asked: list[str] = []
    with unit.read() as session:
        engine = session.get_bind()
    sa.event.listen(engine, "before_cursor_execute", lambda *given: asked.append(given[2]))
    found = []
    for link in (token, "A" * 26):
        asked.clear()
        with pytest.raises((Ended, Unknown)):
            look(unit, link)
        found.append([one for one in asked if one.lstrip().upper().startswith("SELECT")])
    assert found[0] == found[1]
    assert found[0]
