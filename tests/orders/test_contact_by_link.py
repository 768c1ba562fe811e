"""Contact, language and who else may fetch, changed by the link and the telephone's last digits."""

from datetime import timedelta

import pytest
import sqlalchemy as sa

from portal.orders.counter import cancellation
from portal.orders.counter.contact_by_link import (
    ContactChange,
    change_contact,
    change_language,
    contact_now,
    let_fetch,
)
from portal.orders.counter.job_view import job_view
from portal.orders.counter.link_digits import MOST_WRONG
from portal.orders.kernel.errors import RateLimited, Refusal, Refused
from portal.orders.kernel.job_search import find
from portal.orders.kernel.notifications import letter_ready, letter_received
from portal.orders.kernel.telling import choose
from portal.orders.office.erasing import erase_customer
from portal.orders.office.retention import sweep
from portal.shop.states import Channel, LetterKind, LetterState, TellBy
from portal.shop.telling import CHOICES
from portal.store.tables import Customer, Job, Letter
from tests.factories import a_booked_job, a_token, events
from tests.readers import refusing

DIGITS = "0123"
NEW = ContactChange(email="new@example.com", phone="+447700900456", tell_by=TellBy.PHONE)


def customer(unit, job) -> Customer:
    with unit.read() as session:
        return session.get_one(Job, job.job_id).customer


def contact(unit, job, change=NEW, digits=DIGITS, once="") -> None:
    change_contact(unit, job.token, change, digits=digits, once_token=once or a_token())


@pytest.mark.postgres
def test_the_new_contact_counts_is_found_and_the_log_says_what_changed(unit) -> None:
    job = a_booked_job(unit)
    once = a_token()
    for _ in range(2):
        contact(unit, job, once=once)
    who = customer(unit, job)
    assert (who.email, who.phone, who.tell_by) == (NEW.email, NEW.phone, TellBy.PHONE)
    assert [one.code for one in find(unit, "07700900456")] == [job.code]
    assert find(unit, "07700900123") == ()
    (event,) = events(unit, job, "contact")
    assert "900456" not in repr(event.says)
    # from now on the new number proves who asks
    with refusing(Refused, "These aren't the last four digits"):
        contact(unit, job, ContactChange(phone="+447700900789"))
    contact(unit, job, ContactChange(phone="+447700900789"), digits="0456")


@pytest.mark.postgres
def test_what_still_waits_goes_to_the_new_address_and_number(unit) -> None:
    job, other = a_booked_job(unit), a_booked_job(unit, dropoff=timedelta(days=1))
    choose(unit, job.token, set(CHOICES), by_text=True)
    for one in (job, other):
        _tell(unit, one, letter_received)
    _leave(unit)
    for one in (job, other):
        _tell(unit, one, letter_ready)
    old, new = ("robin@example.com", "+447700900123"), (NEW.email, NEW.phone)
    before = {(LetterKind.READY, Channel.EMAIL): old[0], (LetterKind.READY, Channel.TEXT): old[1]}
    assert _waiting(unit, job) == before
    # by the address alone the number stays, and the other way round
    contact(unit, job, ContactChange(email=new[0]))
    changed = {
        (LetterKind.CONTACT_CHANGED, Channel.EMAIL): old[0],
        (LetterKind.CONTACT_CHANGED, Channel.TEXT): old[1],
    }
    after = {(LetterKind.READY, Channel.EMAIL): new[0], (LetterKind.READY, Channel.TEXT): old[1]}
    assert _waiting(unit, job) == after | changed
    contact(unit, job, ContactChange(phone=new[1]))
    by_text = (LetterKind.READY, Channel.TEXT)
    assert _waiting(unit, job) == after | changed | {by_text: new[1]}
    assert _waiting(unit, other) == {(LetterKind.READY, Channel.EMAIL): old[0]}
    with unit.read() as session:  # what has left was sent to the address of before
        sent = sa.select(Letter.to).where(Letter.state == LetterState.SENT)
        assert set(session.scalars(sent)) == set(old)


def _tell(unit, job, letter) -> None:
    unit.write(lambda session: letter(unit, session, session.get_one(Job, job.job_id)))


def _leave(unit) -> None:
    """Let everything that waits have been sent."""
    sent = sa.update(Letter).values(state=LetterState.SENT, sent_at=unit.now())
    unit.write(lambda session: session.execute(sent))


def _waiting(unit, job) -> dict[tuple[LetterKind, Channel], str]:
    """Where each letter goes that still waits; of several of a kind the first."""
    query = sa.select(Letter).where(Letter.job_id == job.job_id, Letter.state == LetterState.QUEUED)
    with unit.read() as session:
        rows = session.scalars(query.order_by(Letter.id.desc())).all()
        return {(one.kind, one.channel): one.to for one in rows}


def test_what_is_left_empty_stays_and_nothing_is_no_change(unit) -> None:
    job = a_booked_job(unit)
    contact(unit, job, ContactChange(email="other@example.com"))
    assert customer(unit, job).phone == "+447700900123"
    with refusing(Refused, "Enter what is to change."):
        contact(unit, job, ContactChange())


def test_a_guesser_has_five_tries_a_link_and_two_days_later_none_more(unit, clock) -> None:
    job = a_booked_job(unit)
    wrong = 0
    while wrong < MOST_WRONG:
        try:
            contact(unit, job, digits="9999")
        except RateLimited as must:
            clock.advance(seconds=must.seconds)
        except Refusal:
            wrong += 1
    clock.advance(days=3)
    sweep(unit)
    for verb in (
        lambda: contact(unit, job),
        lambda: let_fetch(unit, job.token, "Kim", digits=DIGITS, once_token=a_token()),
    ):
        with refusing(Refused, "Too many wrong tries."):
            verb()
    assert customer(unit, job).email == "robin@example.com"


def test_a_language_asks_for_nothing(unit) -> None:
    job = a_booked_job(unit)
    for _ in range(2):
        change_language(unit, job.token, "de", once_token=a_token())
    assert contact_now(unit, job.token).locale == "de"
    assert len(events(unit, job, "contact")) == 1


def test_who_may_fetch_is_told_at_the_counter_and_erased_with_the_customer(unit) -> None:
    job = a_booked_job(unit)
    let_fetch(unit, job.token, " Kim  Sample ", digits=DIGITS, once_token=a_token())
    assert job_view(unit, job.code).may_fetch == "Kim Sample"
    assert contact_now(unit, job.token).named_somebody
    cancellation.call_off(unit, job.job_id, "no time", who=None)
    with refusing(Refused, "You can't do this now"):
        let_fetch(unit, job.token, "", digits=DIGITS, once_token=a_token())
    erase_customer(unit, job.code)
    assert job_view(unit, job.code).may_fetch == ""
