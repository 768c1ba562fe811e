"""The call list: customers who asked for calls, or whose letter came back.

Every customer gets the letters; this list comes from the same rows, so that news with a letter has
a call too, and none is due twice.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.orders.kernel.job_lock import lock_job, record_event
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.codes import shown
from portal.shop.moves import AHEAD, JobState
from portal.shop.states import Channel, FindingAnswer, LetterKind, LetterState, TellBy
from portal.shop.verbs import EventVerb
from portal.store.jobs import Customer, Finding, Job
from portal.store.letters import Letter
from portal.store.moves import Move

# news that is worth a call, and the states of a job in which it still is news
NEWS = {
    LetterKind.FINDING: frozenset({JobState.BOOKED, JobState.WAITING}),
    LetterKind.NEW_DATE: AHEAD,
    LetterKind.ON_TIME: AHEAD,
    LetterKind.CLOSED: AHEAD,
    LetterKind.STILL_WAITING: frozenset({JobState.WAITING}),
    LetterKind.FOUND: AHEAD,
    LetterKind.READY: frozenset({JobState.READY}),
    LetterKind.NOT_BROUGHT: frozenset({JobState.NOT_BROUGHT}),
    LetterKind.NOT_FETCHED: frozenset({JobState.READY}),
}
UNSENT = (LetterState.GIVEN_UP, LetterState.NO_ADDRESS)
STATES = frozenset[JobState]().union(*NEWS.values())


@dataclass(slots=True)
class ToCall:
    """One customer to call, about what, and the newest letter that the call answers.

    `undelivered` when they are called because a letter could not be delivered.
    """

    code: str
    name: str
    phone: str
    newest: int = 0
    about: list[LetterKind] = field(default_factory=list)
    undelivered: bool = False

    @property
    def shown_code(self) -> str:
        """The code in groups."""
        return shown(self.code)


@read_only
def to_call(_unit: UnitOfWork, session: Session) -> tuple[ToCall, ...]:
    """Return who is to be called, the longest due first."""
    query = (
        sa.select(
            Letter.id,
            Letter.kind,
            Letter.state.label("letter_state"),
            Job.id.label("job_id"),
            Job.code,
            Customer.name,
            Customer.phone,
            Job.state,
            sa.exists()
            .where(Finding.job_id == Job.id, Finding.answer == FindingAnswer.OPEN)
            .label("waits_for_answer"),
        )
        .join(Job, Job.id == Letter.job_id)
        .join(Job.customer)
        .where(
            Job.state.in_(STATES),
            Letter.kind.in_(NEWS),
            # who gets the letter needs no call for a text message that failed
            Letter.channel == Channel.EMAIL,
            Letter.state != LetterState.TAKEN_BACK,
            sa.or_(Customer.tell_by == TellBy.PHONE, Letter.state.in_(UNSENT)),
            # who left no number comes and asks
            Customer.phone != "",
        )
        .order_by(Letter.id)
    )
    rows = session.execute(query).all()
    answered = _answered(session, {row.job_id for row in rows})
    found: dict[int, ToCall] = {}
    for row in rows:
        old = row.id <= answered.get(row.job_id, 0) or row.state not in NEWS[row.kind]
        if old or (row.kind is LetterKind.FINDING and not row.waits_for_answer):
            continue
        one = found.setdefault(row.job_id, ToCall(row.code, row.name, row.phone))
        one.newest = row.id
        one.undelivered = one.undelivered or row.letter_state is LetterState.GIVEN_UP
        if row.kind not in one.about:
            one.about.append(row.kind)
    return tuple(found.values())


@transactional
def called(
    unit: UnitOfWork, session: Session, job_id: int, newest: int, *, who: int | None
) -> None:
    """Record that a customer was called about everything up to the letter `newest`."""
    job = lock_job(session, job_id)
    if newest > _answered(session, {job_id}).get(job_id, 0):
        record_event(
            session, job, EventVerb.CALLED, at=unit.now(), who=who, data={"letter": newest}
        )


def _answered(session: Session, job_ids: Iterable[int]) -> dict[int, int]:
    """Return for each job the newest letter about which its customer was called."""
    query = sa.select(Move.job_id, Move.data).where(
        Move.job_id.in_(list(job_ids)), Move.verb == EventVerb.CALLED
    )
    newest: dict[int, int] = {}
    data: dict[str, Any]
    for job_id, data in session.execute(query):
        newest[job_id] = max(newest.get(job_id, 0), int(data.get("letter", 0)))
    return newest
