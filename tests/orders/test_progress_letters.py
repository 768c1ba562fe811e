"""Letters about tests, strip runs and what is found again, and about changes by the link."""

from datetime import UTC, date, datetime

import pytest
import sqlalchemy as sa

from portal.craft.check_kinds import CheckKind
from portal.orders.counter import lost
from portal.orders.counter.contact_by_link import let_fetch
from portal.orders.customer.status_view import status
from portal.orders.kernel.telling import choose
from portal.orders.production import strip_runs
from portal.shop.states import LetterKind, LetterState
from portal.shop.telling import choice_of
from portal.store.tables import Letter
from tests.factories import PAINTED, WHEELS, a_booked_job, a_job_in_work, a_token
from tests.notices.test_told_by_mail import sent
from tests.orders import test_contact_by_link, test_finish_by_link
from tests.orders.checked import UNKNOWN_METAL, record
from tests.orders.checked import answer as answered
from tests.orders.test_lost import answer, write_off
from tests.readers import english

NIGHT = datetime(2026, 6, 2, 22, 0, tzinfo=UTC)


def letters(unit, kind: LetterKind) -> list[Letter]:
    with unit.read() as session:
        query = sa.select(Letter).where(Letter.kind == kind).order_by(Letter.id)
        return list(session.scalars(query))


def test_results_of_half_an_hour_are_one_letter_and_later_ones_another(unit, clock) -> None:
    job = a_job_in_work(unit, UNKNOWN_METAL)
    record(unit, job, CheckKind.METAL, "aluminium", job.part_ids[:1])
    clock.advance(minutes=10)
    record(unit, job, CheckKind.METAL, "aluminium", job.part_ids[1:3])
    first, second = letters(unit, LetterKind.CHECKED)
    assert (first.state, second.state) == (LetterState.TAKEN_BACK, LetterState.QUEUED)
    assert "- Part 1, 2, 3: We checked the metal: aluminium." in second.text
    sent(unit)
    assert letters(unit, LetterKind.CHECKED)[1].state is LetterState.QUEUED
    clock.advance(minutes=31)
    assert "Results of our tests" in str([one["Subject"] for one in sent(unit)])
    record(unit, job, CheckKind.METAL, "aluminium", job.part_ids[3:])
    assert "- Part 4: We checked" in letters(unit, LetterKind.CHECKED)[2].text


def test_a_result_that_is_asked_about_is_told_by_the_question_alone(unit) -> None:
    job = a_job_in_work(unit, UNKNOWN_METAL)
    record(unit, job, CheckKind.METAL, "magnesium")
    assert letters(unit, LetterKind.CHECKED) == []
    assert len(letters(unit, LetterKind.FINDING)) == 1


def test_a_strip_run_is_told_when_it_leaves_and_when_the_last_part_is_back(unit, clock) -> None:
    a_job_in_work(unit, PAINTED)
    run = strip_runs.open_run(unit, date(2026, 6, 3), date(2026, 6, 8), who=None)
    for tag in ("101", "102", "103"):
        strip_runs.gather(unit, run, tag, who=None)
    assert letters(unit, LetterKind.ON_ITS_WAY) == []
    clock.set(NIGHT)
    strip_runs.send(unit, run, who=None)
    (out,) = letters(unit, LetterKind.ON_ITS_WAY)
    assert "Parts: 3\nExpected back: Monday 8 June" in out.text
    # ten at night in UTC is eleven at the works: it waits for eight in the morning
    assert out.next_at == datetime(2026, 6, 3, 7, 0, tzinfo=UTC)
    for tag in ("101", "102"):
        strip_runs.count_back(unit, run, tag, who=None)
    strip_runs.close(unit, run, who=None)
    assert len(letters(unit, LetterKind.ON_ITS_WAY)) == 1
    strip_runs.count_back(unit, run, "103", who=None)
    assert "are back from stripping" in letters(unit, LetterKind.ON_ITS_WAY)[1].text


def test_who_was_told_of_a_loss_is_told_when_it_is_found(unit) -> None:
    job = a_job_in_work(unit, PAINTED)
    write_off(unit, job)
    sent(unit)
    lost.found(unit, job.part_ids[2], who=None)
    (message,) = sent(unit)
    text = " ".join(message.get_body(("plain",)).get_content().split())
    assert message["Subject"].startswith("Found again")
    assert "We have found part 3 again" in text
    assert "We take our question about it back" in text


def test_who_was_not_told_yet_hears_of_neither(unit) -> None:
    job = a_job_in_work(unit, PAINTED)
    sent(unit)
    write_off(unit, job)
    lost.found(unit, job.part_ids[2], who=None)
    assert sent(unit) == []


def test_a_part_that_was_given_up_goes_home_as_it_is(unit) -> None:
    job = a_job_in_work(unit, PAINTED)
    answer(unit, job, write_off(unit, job))
    lost.found(unit, job.part_ids[2], who=None)
    (letter,) = letters(unit, LetterKind.FOUND)
    assert "no longer in your order and you get it back as it is" in letter.text


def test_another_finish_is_confirmed_with_its_price_and_its_date(unit) -> None:
    job = a_booked_job(unit, WHEELS)
    sent(unit)
    test_finish_by_link.change(unit, job)
    (message,) = sent(unit)
    text = message.get_body(("plain",)).get_content()
    total = test_finish_by_link.total(unit, job)
    assert f"New total: £{total // 100}" in text
    assert "Ready by: " in text
    assert "Traffic red" in text


@pytest.mark.parametrize("what", ["contact", "fetch"])
def test_the_address_of_before_is_told_what_changed_and_not_to_what(unit, what: str) -> None:
    job = a_booked_job(unit)
    sent(unit)
    if what == "contact":
        test_contact_by_link.contact(unit, job)
    else:
        let_fetch(unit, job.token, "Alex Example", digits="0123", once_token=a_token())
    (message,) = sent(unit)
    text = message.get_body(("plain",)).get_content().replace("\r", "")
    assert message["To"] == "robin@example.com"
    assert ("- E-mail\n- Phone" if what == "contact" else "- Who may collect") in text
    for secret in ("new@example.com", "900456", "Alex", job.token):
        assert secret not in text


def test_each_kind_about_a_job_can_be_switched_off_but_what_keeps_the_customer_safe(unit) -> None:
    always = {kind for kind in LetterKind if choice_of(kind) is None}
    # what was asked for a moment ago, firms' papers, and that somebody changed the contact
    assert always == {
        LetterKind.RESUME_LINK,
        LetterKind.STATUS_LINKS,
        LetterKind.QUESTION_ASKED,
        LetterKind.QUESTION_ANSWERED,
        LetterKind.FIRM_BOOKED,
        LetterKind.FIRM_LINK,
        LetterKind.FIRM_INVOICE,
        LetterKind.FIRM_REMINDER,
        LetterKind.CONTACT_CHANGED,
        LetterKind.TEST,
    }
    job = a_job_in_work(unit, PAINTED)
    choose(unit, job.token, set(), by_text=False)
    sent(unit)
    write_off(unit, job)
    lost.found(unit, job.part_ids[2], who=None)
    assert sent(unit) == []


def test_a_set_that_goes_home_is_no_longer_in_the_order_as_it_is_told(unit) -> None:
    job = a_job_in_work(unit, {**UNKNOWN_METAL, "key": "A"}, {**WHEELS, "key": "B"})
    record(unit, job, CheckKind.METAL, "magnesium", job.part_ids[:4])
    assert english(status(unit, job.token).summary) == "4 × Wheels"
    answered(unit, job, yes=True)
    page = status(unit, job.token)
    assert english(page.summary).startswith("4 × 18 × 8 wheels, Jet black")
    assert page.picture.key == "B"
