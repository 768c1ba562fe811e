"""Who is to be called, about what, and when the call is done."""

import sqlalchemy as sa

from portal.notices.outbox import deliver_due
from portal.notices.transport import MemoryWire
from portal.orders.counter import call_list, cancellation, findings, hand_back
from portal.shop.route import PartStage
from portal.shop.states import LetterKind, LetterState, TellBy
from portal.store.tables import Customer, Job, Letter
from tests.factories import a_booked_job, a_job_at, events
from tests.orders.test_findings import answer, painted, raise_it


def wants_a_call(unit, job) -> None:
    own = sa.select(Job.customer_id).where(Job.id == job.job_id).scalar_subquery()
    change = sa.update(Customer).where(Customer.id == own).values(tell_by=TellBy.PHONE)
    unit.write(lambda session: session.execute(change))


def test_who_asked_for_the_telephone_is_called_about_a_finding(unit) -> None:
    job, other = a_booked_job(unit), a_booked_job(unit, name="Ira Example")
    wants_a_call(unit, job)
    finding = raise_it(unit, job, painted(unit, job, 1))
    raise_it(unit, other, painted(unit, other, 1))
    assert call_list.to_call(unit) == ()  # nobody has been asked yet
    findings.ask(unit, job.job_id)
    findings.ask(unit, other.job_id)
    found = call_list.to_call(unit)
    assert [(one.name, one.about) for one in found] == [("Robin Sample", [LetterKind.FINDING])]
    call_list.called(unit, job.job_id, found[0].newest, who=None)
    assert call_list.to_call(unit) == ()
    call_list.called(unit, job.job_id, found[0].newest, who=None)
    assert len(events(unit, job, "called")) == 1
    again = raise_it(unit, job, painted(unit, job, 2))
    findings.ask(unit, job.job_id)
    assert len(call_list.to_call(unit)) == 1
    answer(unit, job, finding)
    answer(unit, job, again)
    assert call_list.to_call(unit) == ()


def test_news_after_the_call_is_due_again(unit) -> None:
    job = a_job_at(unit, PartStage.DONE)
    wants_a_call(unit, job)
    hand_back.make_ready(unit, job.job_id, who=None)
    call_list.called(unit, job.job_id, call_list.to_call(unit)[0].newest, who=None)
    hand_back.take_back(unit, job.job_id, "a run in the clear coat", who=None)
    assert call_list.to_call(unit) == ()
    hand_back.make_ready(unit, job.job_id, who=None)
    assert [one.about for one in call_list.to_call(unit)] == [[LetterKind.READY]]


def test_what_is_no_news_any_more_is_not_called_about(unit, clock) -> None:
    job = a_booked_job(unit)
    wants_a_call(unit, job)
    clock.advance(hours=30)
    cancellation.mark_no_show(unit, job.job_id, who=None)
    assert [one.about for one in call_list.to_call(unit)] == [[LetterKind.NOT_BROUGHT]]
    cancellation.call_off(unit, job.job_id, "went elsewhere", who=None)
    assert call_list.to_call(unit) == ()


def test_a_letter_that_could_not_be_delivered_is_a_reason_to_call(unit) -> None:
    job = a_booked_job(unit)
    raise_it(unit, job, painted(unit, job, 1))
    findings.ask(unit, job.job_id)
    unit.write(lambda session: session.execute(sa.update(Letter).values(state="given_up")))
    assert [one.undelivered for one in call_list.to_call(unit)] == [True]


def gave(unit, job, **values: str) -> None:
    own = sa.select(Job.customer_id).where(Job.id == job.job_id).scalar_subquery()
    unit.write(lambda s: s.execute(sa.update(Customer).where(Customer.id == own).values(values)))


def test_who_has_no_e_mail_address_is_called_and_no_letter_goes_out(unit) -> None:
    job = a_job_at(unit, PartStage.DONE)
    gave(unit, job, email="")
    hand_back.make_ready(unit, job.job_id, who=None)
    (found,) = call_list.to_call(unit)
    assert (found.about, found.undelivered) == ([LetterKind.READY], False)
    deliver_due(unit, MemoryWire(), mail_from="works@example.com")
    with unit.read() as session:
        ready = session.scalars(sa.select(Letter).where(Letter.kind == LetterKind.READY)).one()
    assert (ready.state, ready.to) == (LetterState.NO_ADDRESS, "")


def test_nobody_is_called_without_a_number(unit) -> None:
    job = a_job_at(unit, PartStage.DONE)
    gave(unit, job, email="", phone="")
    hand_back.make_ready(unit, job.job_id, who=None)
    assert call_list.to_call(unit) == ()
