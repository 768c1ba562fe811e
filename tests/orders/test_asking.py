"""What a customer writes by the link, and our answers: counted, limited, erased with the job."""

from io import BytesIO

import pytest
import sqlalchemy as sa
from PIL import Image

from portal.orders.counter import thread_answers
from portal.orders.counter.threads_view import thread_view, threads_lately, threads_to_answer
from portal.orders.customer import asking
from portal.orders.customer.asking import Written, talk_behind, write_by_link
from portal.orders.kernel.errors import Already, Overtaken, RateLimited, Refused, Unknown
from portal.orders.kernel.job_lock import refuse_if_overtaken
from portal.orders.office.erasing import erase_customer
from portal.orders.office.person_data import person_data
from portal.orders.office.retention import sweep
from portal.shop.moves import JobState
from portal.shop.states import ThreadKind
from portal.store.tables import Job, Letter, Photo, Thread, ThreadEntry
from tests.factories import a_booked_job, a_token, events

QUESTION, CASE = ThreadKind.QUESTION, ThreadKind.CASE
WORDS = "Can I come an hour later?"


@pytest.fixture
def job(unit):
    return a_booked_job(unit)


def write(unit, job, text=WORDS, kind=QUESTION, photo="", address="192.0.2.1") -> None:
    write_by_link(
        unit, job.token, kind, Written(text, photo), once_token=a_token(), address=address
    )


def a_photo(unit, job, colour="red") -> str:
    stream = BytesIO()
    Image.new("RGB", (40, 30), colour).save(stream, "PNG")
    stream.seek(0)
    return asking.keep_photo(unit, job.token, stream, limit_mb=15)


def home(unit, job) -> None:
    """Put a job into its customer's hands."""

    def work(session) -> None:
        row = session.get_one(Job, job.job_id)
        row.state, row.handed_back_at = JobState.HANDED_BACK, unit.now()

    unit.write(work)


def all_of(unit, table):
    with unit.read() as session:
        return session.scalars(sa.select(table).order_by(table.id)).all()


def newest(unit, job, kind=QUESTION) -> tuple[int, int]:
    talk, _ = talk_behind(unit, job.token, kind)
    return talk.id, talk.last_id


def answer(unit, job, words="Yes.", kind=QUESTION) -> None:
    number, seen = newest(unit, job, kind)
    thread_answers.answer(unit, number, words, last_entry_id=seen, once_token=a_token(), who=None)


def test_a_question_waits_until_it_is_answered_there_and_by_letter(unit, job) -> None:
    write(unit, job, f"  {WORDS} ")
    (line,) = threads_to_answer(unit)
    assert (line.name, line.text, line.waits) == ("Robin Sample", WORDS, True)
    answer(unit, job, "Yes,\nwe are here until six.")
    assert threads_to_answer(unit) == ()
    assert [one.thread_id for one in threads_lately(unit)] == [line.thread_id]
    talk, by_letter = talk_behind(unit, job.token, QUESTION)
    assert [(one.ours, one.said) for one in talk.entries] == [
        (False, WORDS),
        (True, "Yes,\nwe are here until six."),
    ]
    (letter,) = all_of(unit, Letter)
    assert by_letter
    assert letter.to == "robin@example.com"
    for told in (WORDS, "we are here until six.", f"/J/{job.token}"):
        assert told in letter.text
    assert len(events(unit, job, "question")) == len(events(unit, job, "answer")) == 1


def test_nobody_else_s_edit_is_overtaken_by_what_is_only_said(unit, job) -> None:
    write(unit, job)
    with unit.read() as session:
        refuse_if_overtaken(session, job.job_id, 0)


def test_pressing_twice_is_one_question(unit, job) -> None:
    once = a_token()
    for _ in range(2):
        write_by_link(
            unit, job.token, QUESTION, Written(WORDS), once_token=once, address="192.0.2.1"
        )
    assert len(all_of(unit, ThreadEntry)) == 1


@pytest.mark.parametrize("text", [" ", "x" * 2001])
def test_nothing_and_too_much_are_refused_beside_the_field(unit, job, text) -> None:
    with pytest.raises(Refused) as refusal:
        write(unit, job, text)
    assert refusal.value.key == "text"
    assert all_of(unit, Thread) == []


def test_a_link_takes_six_messages_a_day_and_one_place_is_slowed_down(unit, job, clock) -> None:
    for n in range(6):
        write(unit, job, address=f"192.0.2.{n}")
    with pytest.raises(Refused, match="6"):
        write(unit, job, address="192.0.2.99")
    with pytest.raises(Refused):
        a_photo(unit, job)
    clock.advance(hours=25)
    write(unit, job)
    for n in range(8):
        other = a_booked_job(unit, phone=f"+4477009002{n:02}")
        write(unit, other, address="203.0.113.7")
    with pytest.raises(RateLimited):
        write(unit, other, address="203.0.113.7")


def test_a_photo_stays_with_its_question_and_what_was_never_sent_is_dropped(unit, job) -> None:
    a_photo(unit, job, "blue")
    kept = a_photo(unit, job)
    assert len(all_of(unit, Photo)) == 1
    write(unit, job, photo=kept)
    a_photo(unit, job, "blue")
    write(unit, job, "And this?")
    talk, _ = talk_behind(unit, job.token, QUESTION)
    assert [one.photo for one in talk.entries] == [kept, ""]
    assert [one.token for one in all_of(unit, Photo)] == [kept]


def test_nobody_shows_another_job_s_photo(unit, job) -> None:
    other = a_booked_job(unit, name="Ansel Other", phone="+447700900199")
    theirs = a_photo(unit, other)
    write(unit, job, photo=theirs)
    talk, _ = talk_behind(unit, job.token, QUESTION)
    assert talk.entries[0].photo == ""
    assert [one.token for one in all_of(unit, Photo)] == [theirs]


def test_two_who_answer_at_once_are_one_answer(unit, job) -> None:
    write(unit, job)
    number, seen = newest(unit, job)
    answer(unit, job)
    with pytest.raises(Already):
        thread_answers.answer(
            unit, number, "No.", last_entry_id=seen, once_token=a_token(), who=None
        )
    write(unit, job, "Never mind.")
    with pytest.raises(Overtaken):
        thread_answers.close(unit, number, last_entry_id=seen + 1, who=None)
    assert len(all_of(unit, Letter)) == 1


def test_a_letter_that_came_back_waits_until_the_customer_was_called(unit, job) -> None:
    write(unit, job)
    answer(unit, job)
    unit.write(lambda session: session.execute(sa.update(Letter).values(state="given_up")))
    assert [one.undelivered for one in threads_to_answer(unit)] == [True]
    number, seen = newest(unit, job)
    thread_answers.close(unit, number, last_entry_id=seen, who=None)
    assert threads_to_answer(unit) == ()


def test_a_case_opens_after_the_hand_back_and_stands_until_it_is_settled(unit, job) -> None:
    with pytest.raises(Refused):
        write(unit, job, "A wheel rattles.", CASE)
    home(unit, job)
    write(unit, job, "A wheel rattles.", CASE)
    answer(unit, job, "Bring it in.", CASE)
    assert "what you wrote to us" in all_of(unit, Letter)[-1].text
    (line,) = threads_to_answer(unit)
    assert (line.kind, line.waits, line.open) == (CASE, False, True)
    number, seen = newest(unit, job, CASE)
    thread_answers.close(unit, number, last_entry_id=seen, who=None)
    assert threads_to_answer(unit) == ()
    assert thread_view(unit, number).talk.closed_at == unit.now()
    write(unit, job, "It still does.", CASE)
    assert [one.open for one in threads_to_answer(unit)] == [True]


def test_with_the_link_the_thread_ends(unit, job) -> None:
    unit.write(lambda s: s.execute(sa.update(Job).values(link_until=unit.now())))
    with pytest.raises(Unknown):
        write(unit, job)


@pytest.mark.postgres
def test_erasing_blanks_it_the_sweep_deletes_it_and_a_copy_holds_it(unit, job, clock) -> None:
    write(unit, job, photo=a_photo(unit, job))
    answer(unit, job)
    home(unit, job)
    (entry, _) = person_data(unit, job.code).tables["thread_entry"]
    assert entry["said"] == WORDS
    erase_customer(unit, job.code)
    assert [(one.said, one.photo_id) for one in all_of(unit, ThreadEntry)] == [("", None)] * 2
    assert all_of(unit, Photo) == []
    assert threads_to_answer(unit) == ()
    clock.advance(days=731)
    sweep(unit)
    assert all_of(unit, ThreadEntry) == all_of(unit, Thread) == []
