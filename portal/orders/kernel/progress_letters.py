"""Letters about the work, and those that confirm what a customer changed by the link."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.check_kinds import CheckKind, CheckResult
from portal.craft.checks import check
from portal.craft.messages import Message
from portal.notices.outbox import take_back_unsent
from portal.notices.progress_letters import (
    Checked,
    ContactChanged,
    FinishChanged,
    FoundAgain,
    OnItsWay,
)
from portal.orders.kernel.job_lock import last_event
from portal.orders.kernel.notifications import common_of, queue_about
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.money import Money
from portal.shop.states import Arrival, FindingAnswer, LetterKind, LetterState
from portal.store.checks import PartCheck
from portal.store.floor import StripRun
from portal.store.jobs import Finding, Job, Part
from portal.store.letters import Letter

# results that are recorded within this time go out in one letter
CHECKS_TOGETHER = timedelta(minutes=30)
_CHECKED = "checked-"
_LEFT = (LetterState.SENT, LetterState.SENDING, LetterState.GIVEN_UP, LetterState.NO_ADDRESS)


def letter_checked(unit: UnitOfWork, session: Session, job: Job) -> None:
    """Tell the customer every result that no letter has told yet, those of half an hour together.

    A result that needs an answer stands in the question about it.
    """
    take_back_unsent(session, job_id=job.id, kind=LetterKind.CHECKED, but="")
    new = _checks_after(session, job.id, _last_told(session, job.id))
    results = _results(session, job.id, new)
    if not results:
        return
    letter = Checked(**common_of(unit, job, unit.shop(session)), results=results)
    cause = f"{_CHECKED}{max(one.id for one in new)}"
    queue_about(unit, session, job, letter, cause, wait=CHECKS_TOGETHER)


def letters_on_their_way(
    unit: UnitOfWork, session: Session, run: StripRun, parts: Iterable[Part]
) -> None:
    """Tell each customer how many of their parts have left for outside stripping."""
    shop = unit.shop(session)
    for job_id, count in Counter(part.job_id for part in parts).items():
        job = session.get_one(Job, job_id)
        letter = OnItsWay(**common_of(unit, job, shop), parts=count, back_on=run.back_on)
        queue_about(unit, session, job, letter, f"run-{run.id}-out")


def letter_came_back(
    unit: UnitOfWork,
    session: Session,
    run: StripRun,
    job_id: int,
    parts: Iterable[tuple[Part, bool]],
) -> None:
    """Tell a customer as soon as none of their parts is away in a run; `parts` are all of it.

    Beside each part stands whether it was counted back.
    """
    own = [(one, counted) for one, counted in parts if one.job_id == job_id]
    if not all(counted or one.arrived is Arrival.LOST for one, counted in own):
        return
    job = session.get_one(Job, job_id)
    letter = OnItsWay(
        **common_of(unit, job, unit.shop(session)),
        parts=sum(counted for _, counted in own),
        back_on=run.back_on,
        back=True,
    )
    queue_about(unit, session, job, letter, f"run-{run.id}-back")


def letter_found(
    unit: UnitOfWork,
    session: Session,
    job: Job,
    *,
    part: int | None = None,
    bag: str = "",
    answer: FindingAnswer | None,
) -> None:
    """Tell the customer, who was told of a loss, that the part or bag is here again.

    `answer` is the one that they gave to the question about it.
    """
    common = common_of(unit, job, unit.shop(session))
    letter = FoundAgain(**common, part=part, bag=bag, answer=answer)
    queue_about(unit, session, job, letter, f"event-{last_event(session, job.id)}")


def was_asked_about(
    session: Session, job_id: int, since: datetime, answer: FindingAnswer | None
) -> bool:
    """Return whether a customer knows of a question: it has an answer, or its letter has left."""
    if answer is not FindingAnswer.OPEN:
        return True
    tried = sa.and_(Letter.state == LetterState.QUEUED, Letter.tries > 0)
    query = sa.select(Letter.id).where(
        Letter.job_id == job_id,
        Letter.kind == LetterKind.FINDING,
        Letter.made_at >= since,
        sa.or_(Letter.state.in_(_LEFT), tried),
    )
    return session.scalar(query.limit(1)) is not None


def letter_finish_changed(
    unit: UnitOfWork,
    session: Session,
    job: Job,
    finish: Message,
    amount: Money,
    *,
    total: Money,
) -> None:
    """Confirm another colour or finish with the new price and the new date."""
    letter = FinishChanged(
        **common_of(unit, job, unit.shop(session)),
        finish=finish,
        amount=amount,
        total=total,
        ready_at=job.promise_at,
    )
    queue_about(unit, session, job, letter, f"event-{last_event(session, job.id)}")


def letter_contact_changed(
    unit: UnitOfWork, session: Session, job: Job, changed: Iterable[Message]
) -> None:
    """Tell the address of before what changes; it must be called before the change is made.

    It has no link, because the person who reads the old address may not be the customer.
    """
    if not job.customer.email:
        return
    common = common_of(unit, job, unit.shop(session)) | {"link": ""}
    letter = ContactChanged(**common, changed=tuple(changed))
    queue_about(unit, session, job, letter, f"after-{last_event(session, job.id)}")


def _last_told(session: Session, job_id: int) -> int:
    """Return the newest check that a letter has told, 0 for none."""
    query = sa.select(Letter.cause).where(
        Letter.job_id == job_id,
        Letter.kind == LetterKind.CHECKED,
        Letter.state != LetterState.TAKEN_BACK,
    )
    causes = session.scalars(query).all()
    return max((int(one.removeprefix(_CHECKED)) for one in causes), default=0)


def _checks_after(session: Session, job_id: int, after: int) -> Sequence[PartCheck]:
    query = (
        sa.select(PartCheck)
        .outerjoin(Finding, Finding.id == PartCheck.finding_id)
        .where(
            PartCheck.job_id == job_id,
            PartCheck.id > after,
            PartCheck.result.not_in((CheckResult.WAIVED, CheckResult.REOPENED)),
            sa.or_(Finding.id.is_(None), Finding.answer != FindingAnswer.OPEN),
        )
    )
    return session.scalars(query.order_by(PartCheck.id)).all()


def _results(
    session: Session, job_id: int, checks: Sequence[PartCheck]
) -> tuple[tuple[tuple[int, ...], Message], ...]:
    """Return each result with its parts; no numbers where it is every part of the job."""
    parts = session.execute(sa.select(Part.id, Part.number).where(Part.job_id == job_id))
    numbers = {row.id: row.number for row in parts}
    found: dict[tuple[CheckKind, CheckResult], set[int]] = defaultdict(set)
    for one in checks:
        found[one.kind, one.result].add(numbers[one.part_id])
    every = set(numbers.values())
    results = []
    for (kind, result), own in found.items():
        outcome = check(kind).result(result)
        if outcome is not None:
            results.append(((() if own == every else tuple(sorted(own))), outcome.customer))
    return tuple(results)
