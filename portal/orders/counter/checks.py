"""Results of checks: recorded once for some parts of a set, put to the customer where they must be.

A result that changes what the parts are is weighed as any difference is: what only fills in a
"don't know" at an agreed price goes into the order at once, the rest waits for the answer.
"""

from collections.abc import Sequence
from typing import Any

from sqlalchemy.orm import Session

from portal.craft.check_kinds import CheckKind, CheckResult
from portal.craft.checks import Result, as_found, check
from portal.craft.messages import Message
from portal.orders.counter.finding_impact import FindingImpact, weigh_in
from portal.orders.counter.findings import raise_held, take_back_held
from portal.orders.counter.job_parts import order_parts
from portal.orders.counter.starting import start_if_nothing_waits
from portal.orders.kernel.audit_log import record as record_audit
from portal.orders.kernel.checks import CheckLine, lines_of
from portal.orders.kernel.errors import Already, Refused, Unknown
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.job_lock import load_job, lock_job, not_now, parts_of, record_event
from portal.orders.kernel.progress_letters import letter_checked
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.codes import shown
from portal.shop.pricing.differences import Difference, kinds_of
from portal.shop.route import PartStage
from portal.shop.states import FindingAnswer
from portal.shop.verbs import AuditVerb, EventVerb
from portal.store.checks import PartCheck
from portal.store.jobs import Finding, Job, Part

LONGEST_NOTE = 300
CHOOSE_PARTS = Message("Choose the parts that you have checked.")


@transactional
@idempotent("record_check")
def record_check(  # noqa: PLR0913  # what a result is made of, all named
    unit: UnitOfWork,
    session: Session,
    job_id: int,
    kind: CheckKind,
    result: str,
    part_ids: Sequence[int],
    *,
    note: str = "",
    once_token: str,  # taken by the decorator
    who: int | None,
) -> dict[str, Any]:
    """Record the result of a check for parts of one set whose line is open.

    Return `{"finding": its number or None, "asked": whether the customer is asked}`. Work starts
    where nothing else kept it from starting.
    """
    job = lock_job(session, job_id)
    if not job.state.is_open:
        raise Refused(not_now(job.state))
    if check(kind).elsewhere:
        raise Refused(Message("This is recorded on its own page."))
    outcome = _outcome(kind, result)
    parts = _open_parts(session, job, kind, part_ids)
    text = _note(note)
    found = _difference(session, job, parts, outcome)
    # what was there is written before what it changes: the order may lose the line by it
    record_event(
        session,
        job,
        EventVerb.CHECK,
        at=unit.now(),
        who=who,
        part_id=parts[0].id if len(parts) == 1 else None,
        says=_said(kind, outcome.says, parts, text),
        data={"check": kind, "result": result, "parts": [part.number for part in parts]},
    )
    finding = None
    if found is not None:
        number = raise_held(unit, session, job, found, who=who, by_check=True)
        finding = session.get_one(Finding, number)
    _add(unit, session, parts, kind, outcome.key, text, finding=finding, who=who)
    start_if_nothing_waits(unit, session, job, who=who)
    letter_checked(unit, session, job)
    return {
        "finding": finding.id if finding else None,
        "asked": finding is not None and finding.answer is FindingAnswer.OPEN,
    }


@transactional
def override_check(  # noqa: PLR0913  # as above
    unit: UnitOfWork,
    session: Session,
    job_id: int,
    kind: CheckKind,
    part_ids: Sequence[int],
    *,
    go_on: bool,
    reason: str,
    who: int | None,
) -> None:
    """Let parts go on without a result (`go_on`), or open their line again; only with a reason.

    It is for the office. A finding of the old result that has no answer yet is withdrawn; one
    that is answered stays, and so does its result.
    """
    job = lock_job(session, job_id)
    if not job.state.is_open:
        raise Refused(not_now(job.state))
    text = _note(reason)
    if not text:
        raise Refused(Message("Enter a reason."), key="reason")
    wanted = [one for one in _lines(session, job, kind) if one.part_id in set(part_ids)]
    wanted = [one for one in wanted if go_on or not one.open]
    if not wanted:
        raise Refused(CHOOSE_PARTS, key="parts")
    for number in {one.record.finding_id for one in wanted if one.record}:
        _withdraw(unit, session, job, number, who=who)
    parts = [session.get_one(Part, one.part_id) for one in wanted]
    result = CheckResult.WAIVED if go_on else CheckResult.REOPENED
    title = Message("Go on without it") if go_on else Message("To be done again")
    says = _said(kind, title, parts, text)
    _add(unit, session, parts, kind, result, text, finding=None, who=who)
    record_event(
        session, job, EventVerb.CHECK, at=unit.now(), who=who, says=says,
        data={"check": kind, "result": result, "parts": [part.number for part in parts]},
    )  # fmt: skip
    numbers = ", ".join(str(part.number) for part in parts)
    what = Message(
        "{job}/{parts} {check}: {note}", job=shown(job.code), parts=numbers, check=kind, note=text
    )
    record_audit(session, unit.now(), who, AuditVerb(f"{result}_check"), what)
    start_if_nothing_waits(unit, session, job, who=who)


@read_only
def weigh_check(
    unit: UnitOfWork,
    session: Session,
    job_id: int,
    kind: CheckKind,
    result: str,
    part_ids: Sequence[int],
) -> FindingImpact | None:
    """Return the effect of a result on price and date without saving it; None where it has none."""
    job = load_job(session, job_id)
    parts = _open_parts(session, job, kind, part_ids)
    found = _difference(session, job, parts, _outcome(kind, result))
    return None if found is None else weigh_in(unit, session, job, found)


def _outcome(kind: CheckKind, result: str) -> Result:
    outcome = check(kind).result(result)
    if outcome is None:
        raise Unknown(Message("Choose one of the results."), key="result")
    return outcome


def _lines(session: Session, job: Job, kind: CheckKind) -> list[CheckLine]:
    return [one for one in lines_of(session, job.id) if one.kind is kind]


def _open_parts(session: Session, job: Job, kind: CheckKind, part_ids: Sequence[int]) -> list[Part]:
    """Return the chosen parts; raise where a line is done already, or they are of two sets."""
    chosen = set(part_ids)
    lines = [one for one in _lines(session, job, kind) if one.part_id in chosen]
    if not lines or len(lines) != len(chosen):
        raise Refused(CHOOSE_PARTS, key="parts")
    done = next((one for one in lines if not one.open), None)
    if done is not None:
        raise Already(
            Message("“{check}” of part {part} is recorded already.", check=kind, part=done.number)
        )
    early = next((one for one in lines if not one.due), None)
    if early is not None:
        since = PartStage(early.row.since)
        raise Refused(
            Message(
                "Part {part} is at “{stage}”. Look at it once it stands at “{since}”.",
                part=early.number,
                stage=early.stage,
                since=since,
            ),
            key="parts",
        )
    if len({one.set_key for one in lines}) > 1:
        raise Refused(Message("Record each set by itself: they are different parts."), key="parts")
    return [part for part in parts_of(session, job.id) if part.id in chosen]


def _note(text: str) -> str:
    note = " ".join(text.split())
    if len(note) > LONGEST_NOTE:
        raise Refused(Message("Use at most {most} characters.", most=LONGEST_NOTE), key="note")
    return note


def _difference(
    session: Session, job: Job, parts: Sequence[Part], outcome: Result
) -> Difference | None:
    """Return what a result changes of the order; None where it changes nothing."""
    order, key = order_parts(session, job), parts[0].set_key
    if order.set_of(key) is None or not outcome.becomes:
        return None
    chosen = tuple(part.number for part in parts)
    of_them = order.as_declared(key, chosen)
    found = Difference(key, chosen, as_found(of_them, outcome.becomes))
    return found if kinds_of(of_them, found) else None


def _add(  # noqa: PLR0913  # one value a column
    unit: UnitOfWork,
    session: Session,
    parts: Sequence[Part],
    kind: CheckKind,
    result: CheckResult,
    note: str,
    *,
    finding: Finding | None,
    who: int | None,
) -> None:
    session.add_all(
        PartCheck(
            job_id=part.job_id,
            part_id=part.id,
            kind=kind,
            result=result,
            note=note,
            finding_id=finding.id if finding else None,
            at=unit.now(),
            person_id=who,
        )
        for part in parts
    )
    session.flush()


def _withdraw(
    unit: UnitOfWork, session: Session, job: Job, number: int | None, *, who: int | None
) -> None:
    finding = None if number is None else session.get_one(Finding, number)
    if finding is None:
        return
    if finding.answer is FindingAnswer.OPEN:
        take_back_held(unit, session, job, finding, who=who)
    elif finding.answer is FindingAnswer.ACCEPTED:
        raise Refused(
            Message("The order was changed by this result. Report a difference to change it again.")
        )


def _said(kind: CheckKind, result: Message, parts: Sequence[Part], note: str) -> Message:
    numbers = ", ".join(str(part.number) for part in parts)
    if note:
        return Message(
            "{check} ({parts}): {result}. {note}",
            check=kind, parts=numbers, result=result, note=note,
        )  # fmt: skip
    return Message("{check} ({parts}): {result}", check=kind, parts=numbers, result=result)
