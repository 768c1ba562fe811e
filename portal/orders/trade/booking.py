"""All sets of a list are booked in one press: one drop-off time, each its own job, or none."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.notices.firm_letters import BookedSet, FirmBooked
from portal.notices.outbox import queue
from portal.notices.sender import sender_of
from portal.orders.intake.draft_answers import Contact
from portal.orders.intake.new_job import TAKEN, NewJob, put_job
from portal.orders.kernel.errors import Overtaken, Refused, Taken
from portal.orders.kernel.idempotency import earlier_answer, idempotent
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.orders.trade.list_view import ListedSet, ListView, list_view
from portal.orders.trade.lists import open_for_changes
from portal.shop.codes import shown
from portal.shop.lists.columns import ListColumn, rows_to_json
from portal.shop.lists.words import Words
from portal.shop.states import TellBy
from portal.store.jobs import Job

VERB = "book_list"
READ_AGAIN = Message("A price or a date has changed. Check the list, then book again.")
STILL_BAD = Message("Correct the marked rows first, or take them out of the list.")
NOTHING = Message("There is no row to book.")


@dataclass(frozen=True, slots=True)
class _ToBook:
    """A list that may be booked: nothing bad, nothing changed, everything accepted."""

    view: ListView
    jobs: tuple[NewJob, ...]


def book_list(
    unit: UnitOfWork,
    firm_id: int,
    list_id: int,
    words: Words,
    *,
    agreed: str,
    confirmed: Iterable[str],
    once_token: str,
) -> tuple[str, ...]:
    """Book every set of a list and return the codes of its jobs.

    `agreed` are prices and dates as the page showed them, `confirmed` the keys of what was
    accepted. Pressing twice is one booking. Raises Unknown, Refused (a row is bad, the limit is
    reached, or something was not accepted), Overtaken, or Taken (the drop-off time is full).
    """
    with unit.read() as session:
        earlier = earlier_answer(session, once_token, VERB)
    if earlier is not None:
        return tuple(earlier["codes"])
    accepted = frozenset(confirmed)
    ready = _check(list_view(unit, firm_id, list_id, words), agreed, accepted)
    try:
        return tuple(_book(unit, ready, accepted, once_token=once_token))
    except IntegrityError:
        # several tries met a place that somebody else took first
        raise Taken(TAKEN, key="slot") from None


def _check(view: ListView, agreed: str, confirmed: frozenset[str]) -> _ToBook:
    if view.bad:
        raise Refused(STILL_BAD)
    if not view.good:
        raise Refused(NOTHING)
    if view.over_limit is not None:
        raise Refused(view.over_limit)
    if view.slot is None or view.slot_lost:
        raise Taken(TAKEN, key="slot")
    if agreed != view.agreement:
        raise Overtaken(READ_AGAIN)
    missing = [one for one in view.to_confirm if one.key not in confirmed]
    if missing:
        raise Refused(missing[0].says, key="confirmed")
    jobs = [_new_job(view, one, first=at == 0) for at, one in enumerate(view.good)]
    return _ToBook(view, tuple(jobs))


def _new_job(view: ListView, one: ListedSet, *, first: bool) -> NewJob:
    firm, order, offer = view.firm, one.assessment, one.offer
    assert order is not None  # it is good
    if offer is None:
        raise Taken(TAKEN, key="slot")
    contact = Contact(
        name=firm.name,
        email=firm.email,
        phone=firm.phone,
        tell_by=TellBy.EMAIL,
        vehicle=one.row.cell(ListColumn.REFERENCE),
    )
    return NewJob(
        contact,
        order,
        offer,
        firm.locale,
        firm_id=firm.firm_id,
        takes_place=first,
        needed_by=one.read.wanted,
        has_letter=False,
    )


@transactional
@idempotent(VERB, answer="codes")
def _book(
    unit: UnitOfWork,
    session: Session,
    ready: _ToBook,
    confirmed: frozenset[str],
    *,
    once_token: str,  # taken by the decorator
) -> list[str]:
    view = ready.view
    row = open_for_changes(session, view.firm.firm_id, view.list_id, view.version)
    jobs = [put_job(unit, session, new, confirmed, data={"list": row.id}) for new in ready.jobs]
    codes = [job.code for job in jobs]
    listed = rows_to_json(tuple(one.row for one in view.sets))
    row.rows = [{**cells, "code": code} for cells, code in zip(listed, codes, strict=True)]
    row.slot, row.booked_at = view.slot, unit.now()
    row.version += 1
    _tell(unit, session, view, jobs)
    return codes


def _tell(unit: UnitOfWork, session: Session, view: ListView, jobs: Sequence[Job]) -> None:
    """Confirm the whole list in one letter."""
    firm, first = view.firm, jobs[0]
    letter = FirmBooked(
        sender=sender_of(unit.shop(session), firm.locale),
        locale=firm.locale,
        link=f"{unit.base_url}/firm",
        name=firm.contact or firm.name,
        dropoff_at=first.dropoff_at,
        dropoff_until=first.dropoff_until,
        fetched=firm.fetched,
        sets=tuple(
            BookedSet(shown(job.code), job.vehicle, job.summary, job.promise_at) for job in jobs
        ),
        total=view.total,
    )
    queue(
        session,
        letter,
        job_id=None,
        cause=f"list:{view.list_id}",
        to=firm.email,
        at=unit.now(),
        random_bytes=unit.random_bytes,
    )
