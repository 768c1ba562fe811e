"""How a customer is reached, and who else may fetch the parts, changed by the link.

Letters carry the link, and the telephone proves who asks: both are keys, so their change asks for
the last digits of the telephone that is on the order. A language opens nothing and asks nothing.
What stands in the order is never shown here: who found a link reads no name, number or address.
"""

from dataclasses import dataclass

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.counter.link_digits import WRONG, are_right, digits_in
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.idempotency import earlier_answer, idempotent
from portal.orders.kernel.job_links import behind
from portal.orders.kernel.job_lock import lock_job, not_now, record_event
from portal.orders.kernel.job_search import folded, search_text
from portal.orders.kernel.progress_letters import letter_contact_changed
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.moves import JobState
from portal.shop.states import Channel, LetterKind, LetterState, TellBy
from portal.shop.verbs import EventVerb
from portal.store.jobs import Customer, Job
from portal.store.letters import Letter

CONTACT, LANGUAGE, FETCH = "contact_by_link", "language_by_link", "fetch_by_link"
LONGEST_NAME = 120
NOTHING = Message("Enter what is to change.")
GONE_HOME = Message("The parts have been collected.")


@dataclass(frozen=True, slots=True)
class ContactChange:
    """What is new; what is empty stays as it is. `phone` is E.164."""

    email: str = ""
    phone: str = ""
    tell_by: TellBy | None = None

    @property
    def named(self) -> tuple[Message, ...]:
        """What changes, without saying to what: the log is never changed."""
        every = (
            (self.email, Message("E-mail")),
            (self.phone, Message("Phone")),
            (self.tell_by, Message("How we tell you")),
        )
        return tuple(name for new, name in every if new)


@dataclass(frozen=True, slots=True)
class ContactNow:
    """What the pages need to know: nothing of it says who the customer is.

    `may_change` is false once the job was ended or its customer erased.
    """

    tell_by: TellBy
    locale: str
    has_phone: bool
    named_somebody: bool
    may_change: bool
    may_fetch: bool


@read_only
def contact_now(unit: UnitOfWork, session: Session, token: str) -> ContactNow:
    """Return what can be changed behind a link; Unknown for a link that is none, or is over."""
    job: Job = behind(session, token, unit.now(), Job)[0]
    who = job.customer
    open_ = not (job.state.is_off or who.erased)
    return ContactNow(
        tell_by=who.tell_by,
        locale=who.locale,
        has_phone=bool(who.phone),
        named_somebody=bool(job.may_fetch),
        may_change=open_,
        may_fetch=open_ and job.state is not JobState.HANDED_BACK,
    )


def change_contact(
    unit: UnitOfWork, token: str, change: ContactChange, *, digits: str, once_token: str
) -> None:
    """Change how the customer is reached; pressing twice is once.

    Raises Refused (nothing new, the job is over, or with key `digits`: wrong ones), RateLimited or
    Unknown.
    """
    if not change.named:
        raise Refused(NOTHING, key="email")
    # a wrong try must stay counted, so the refusal comes after the transaction
    if not _change_contact(unit, token, change, digits_in(digits), once_token=once_token):
        raise Refused(WRONG, key="digits")


def let_fetch(unit: UnitOfWork, token: str, name: str, *, digits: str, once_token: str) -> None:
    """Name who else may fetch the parts, or nobody; pressing twice is once.

    Raises as `change_contact` does.
    """
    tidy = " ".join(name.split())[:LONGEST_NAME]
    if not _let_fetch(unit, token, tidy, digits_in(digits), once_token=once_token):
        raise Refused(WRONG, key="digits")


@transactional
def _change_contact(
    unit: UnitOfWork,
    session: Session,
    token: str,
    change: ContactChange,
    given: str,
    *,
    once_token: str,
) -> bool:
    """Return whether the digits were right, and the change is noted."""
    job = _proven(unit, session, token, given, once=(CONTACT, once_token))
    if job is not None:
        _put_contact(unit, session, job, change, once_token=once_token)
    return job is not None


@transactional
def _let_fetch(
    unit: UnitOfWork, session: Session, token: str, name: str, given: str, *, once_token: str
) -> bool:
    """Return whether the digits were right, and the name is noted."""
    job = _proven(unit, session, token, given, once=(FETCH, once_token))
    if job is not None:
        _put_fetcher(unit, session, job, name, once_token=once_token)
    return job is not None


def _proven(
    unit: UnitOfWork, session: Session, token: str, given: str, *, once: tuple[str, str]
) -> Job | None:
    """Return the job, locked, where the digits are right or its press has counted; else None."""
    found: Job = behind(session, token, unit.now(), Job)[0]
    job = lock_job(session, found.id)
    verb, once_token = once
    if earlier_answer(session, once_token, verb) is not None:
        return job
    return job if are_right(unit, session, job.token, job.customer.phone, given) else None


@transactional
def change_language(
    unit: UnitOfWork, session: Session, token: str, locale: str, *, once_token: str
) -> None:
    """Change the language of the letters and papers of a job; pressing twice is once."""
    found: Job = behind(session, token, unit.now(), Job)[0]
    job = lock_job(session, found.id)
    _put_language(unit, session, job, locale, once_token=once_token)


@idempotent(CONTACT)
def _put_contact(
    unit: UnitOfWork,
    session: Session,
    job: Job,
    change: ContactChange,
    *,
    once_token: str,  # taken by the decorator
) -> None:
    _still_theirs(job)
    who = job.customer
    if who.tell_by is TellBy.EMAIL and not (change.email or who.email):
        raise Refused(Message("Enter your e-mail address."), key="email")
    if change.email or change.phone:
        letter_contact_changed(unit, session, job, change.named)
    _search_again(session, who, change)
    _send_there(session, who, change)
    who.email, who.phone = change.email or who.email, change.phone or who.phone
    who.tell_by = change.tell_by or who.tell_by
    says = Message("{changed}", changed=change.named)
    record_event(session, job, EventVerb.CONTACT, at=unit.now(), who=None, says=says)


@idempotent(FETCH)
def _put_fetcher(
    unit: UnitOfWork,
    session: Session,
    job: Job,
    name: str,
    *,
    once_token: str,  # taken by the decorator
) -> None:
    _still_theirs(job)
    if job.state is JobState.HANDED_BACK:
        raise Refused(GONE_HOME)
    if job.may_fetch == name:
        raise Refused(NOTHING, key="name")
    letter_contact_changed(unit, session, job, (Message("Who may collect the parts"),))
    job.may_fetch = name
    record_event(session, job, EventVerb.MAY_FETCH, at=unit.now(), who=None)


@idempotent(LANGUAGE)
def _put_language(
    unit: UnitOfWork,
    session: Session,
    job: Job,
    locale: str,
    *,
    once_token: str,  # taken by the decorator
) -> None:
    _still_theirs(job)
    if job.customer.locale == locale:
        return
    job.customer.locale = locale
    says = Message("Language of letters and papers")
    record_event(session, job, EventVerb.CONTACT, at=unit.now(), who=None, says=says)


def _still_theirs(job: Job) -> None:
    if job.state.is_off or job.customer.erased:
        raise Refused(not_now(job.state))


def _search_again(session: Session, who: Customer, change: ContactChange) -> None:
    """Let Find know the new number and address instead of the old ones, on all their jobs."""
    pairs = [(who.email, change.email), (who.phone, change.phone)]
    for job in session.scalars(sa.select(Job).where(Job.customer_id == who.id)):
        for old, new in pairs:
            if new:
                left = job.search.replace(folded(old), "") if old else job.search
                job.search = search_text(left, new)


def _send_there(session: Session, who: Customer, change: ContactChange) -> None:
    """Let letters that still wait go to the new address, and text messages to the new number.

    That the contact changed still goes to those of before.
    """
    waits = sa.update(Letter).where(
        Letter.job_id.in_(sa.select(Job.id).where(Job.customer_id == who.id)),
        Letter.kind != LetterKind.CONTACT_CHANGED,
        Letter.state == LetterState.QUEUED,
    )
    for channel, to in ((Channel.EMAIL, change.email), (Channel.TEXT, change.phone)):
        if to:
            session.execute(waits.where(Letter.channel == channel).values(to=to))
