"""The customer answers a finding by the link: the second thing asked, and few tries."""

import pytest
import sqlalchemy as sa

from portal.orders.counter.customer_answers import answer_by_link
from portal.orders.counter.finding_answers import CustomerQuestion
from portal.orders.counter.link_digits import MOST_WRONG
from portal.orders.customer.status_view import status
from portal.orders.kernel.errors import Already, Overtaken, RateLimited, Refused, Unknown
from portal.shop.moves import JobState
from portal.shop.states import FindingAnswer
from portal.store.tables import Finding, Job
from tests.factories import a_job_in_work, a_token, state
from tests.orders.test_findings import painted, raise_it
from tests.readers import english, refusing

DIGITS = "0123"  # the end of the factories' telephone number, reserved for fiction


@pytest.fixture
def job(unit):
    return a_job_in_work(unit)


@pytest.fixture
def finding(unit, job):
    return raise_it(unit, job, painted(unit, job, 1, 2))


def asked(unit, finding):
    """What the status page told of the question: this finding, and the price with it."""
    with unit.read() as session:
        row = session.get(Finding, finding)
        return CustomerQuestion(
            (finding,), session.get(Job, row.job_id).total_minor + row.amount_minor
        )


def give(unit, job, finding, digits=DIGITS, *, yes=True, once=""):
    told = asked(unit, finding)
    answer_by_link(unit, job.token, told, accepted=yes, digits=digits, once_token=once or a_token())


def answer_of(unit, finding):
    with unit.read() as session:
        row = session.execute(
            sa.select(Finding.answer, Finding.answered_how).where(Finding.id == finding)
        ).one()
    return tuple(row)


def test_a_yes_changes_the_price_and_lets_work_go_on(unit, job, finding):
    before = status(unit, job.token)
    assert state(unit, job) is JobState.WAITING
    give(unit, job, finding)
    after = status(unit, job.token)
    assert answer_of(unit, finding) == ("accepted", "link")
    assert (
        after.balance.total.minor
        == before.balance.total.minor + before.open_findings[0].amount.minor
    )
    assert after.open_findings == ()
    assert state(unit, job) is JobState.IN_WORK


def test_a_no_is_kept_and_leaves_the_price_alone(unit, job, finding):
    before = status(unit, job.token).balance.total
    give(unit, job, finding, yes=False)
    assert answer_of(unit, finding) == ("declined", "link")
    assert status(unit, job.token).balance.total == before


def test_digits_are_read_as_people_write_them(unit, job, finding):
    give(unit, job, finding, " 01-23 ")
    assert answer_of(unit, finding)[0] == "accepted"


@pytest.mark.parametrize("digits", ["", "12", "00123", "abcd", "٠١٢٣", "🛞🛞🛞🛞"])
def test_what_is_no_four_digits_is_refused_and_not_counted(unit, job, finding, digits):
    for _ in range(20):
        with refusing(Refused, "last four digits"):
            give(unit, job, finding, digits)
    give(unit, job, finding)


def test_wrong_digits_change_nothing(unit, job, finding):
    with refusing(Refused, "These aren't the last four digits of the phone"):
        give(unit, job, finding, "9999")
    assert answer_of(unit, finding) == (FindingAnswer.OPEN, None)


def test_guessing_becomes_slow_and_then_ends(unit, job, finding, clock):
    waited, told = 0, []
    while not told or "too many" not in told[-1].lower():
        assert len(told) < 400
        try:
            give(unit, job, finding, "9999")
        except RateLimited as must:
            waited += must.seconds
            clock.advance(seconds=must.seconds)
        except Refused as refusal:
            told.append(english(refusal.sentence))
    assert len(told) == MOST_WRONG + 1
    assert waited
    # even the right digits no longer help: somebody is guessing
    clock.advance(hours=1)
    with refusing(Refused, "Call us"):
        give(unit, job, finding)


def test_a_good_answer_forgets_the_slips_before_it(unit, job, finding):
    for _ in range(3):
        with pytest.raises(Refused):
            give(unit, job, finding, "9999")
    give(unit, job, finding)
    other = raise_it(unit, job, painted(unit, job, 3))
    for _ in range(3):
        with refusing(Refused, "These aren't the last four digits of the phone"):
            give(unit, job, other, "9999")


def test_pressing_twice_is_one_answer(unit, job, finding):
    told, once = asked(unit, finding), a_token()
    for _ in range(2):
        answer_by_link(unit, job.token, told, accepted=True, digits=DIGITS, once_token=once)
    assert answer_of(unit, finding) == ("accepted", "link")


def test_an_answer_that_was_given_at_the_counter_is_not_given_again(unit, job, finding):
    from portal.orders.counter.finding_answers import answer_finding

    answer_finding(unit, job.job_id, finding, accepted=False, how="counter", who=None)
    with pytest.raises(Already):
        give(unit, job, finding)
    assert answer_of(unit, finding) == ("declined", "counter")


def test_a_finding_of_another_job_is_not_answered(unit, job, finding):
    other = a_job_in_work(unit, first_tag=201)
    with pytest.raises(Already):
        give(unit, other, finding)
    assert answer_of(unit, finding) == (FindingAnswer.OPEN, None)


def test_without_a_link_nothing_is_answered(unit, finding):
    told = CustomerQuestion((finding,), 1)
    with pytest.raises(Unknown):
        answer_by_link(unit, "A" * 26, told, accepted=True, digits=DIGITS, once_token=a_token())


def test_several_findings_are_one_question_with_one_sum(unit, job, finding):
    second = raise_it(unit, job, painted(unit, job, 3))
    seen = status(unit, job.token)
    assert seen.question.read.findings == (finding, second)
    assert seen.question.amount.minor == sum(one.amount.minor for one in seen.open_findings)
    told = seen.question.read
    answer_by_link(unit, job.token, told, accepted=True, digits=DIGITS, once_token=a_token())
    assert status(unit, job.token).balance.total == seen.question.total
    assert state(unit, job) is JobState.IN_WORK


def test_a_question_that_has_changed_since_it_was_read_is_read_again(unit, job, finding):
    told = status(unit, job.token).question.read
    second = raise_it(unit, job, painted(unit, job, 3))
    with refusing(Overtaken, "Read it again"):
        answer_by_link(unit, job.token, told, accepted=True, digits=DIGITS, once_token=a_token())
    assert answer_of(unit, second) == (FindingAnswer.OPEN, None)
