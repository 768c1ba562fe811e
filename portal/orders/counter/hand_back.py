"""Ready, and collected: no part or bag is left behind, nothing stays unpaid without a reason."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.counter.bags import bags_counted
from portal.orders.counter.check_in import free_tag
from portal.orders.counter.lost import retire_lost_tags
from portal.orders.counter.on_account import (
    goes_over,
    reasons_against_owing,
    record_over_limit,
)
from portal.orders.counter.waiting import count_open_findings
from portal.orders.kernel.errors import Refusal, Refused
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.issuing import follow_account
from portal.orders.kernel.job_lock import (
    load_job,
    lock_job,
    not_now,
    parts_in_production,
    parts_of,
    parts_on_site,
    refuse_if_overtaken,
)
from portal.orders.kernel.ledger import account_of
from portal.orders.kernel.notifications import letter_handed_back, letter_ready
from portal.orders.kernel.posting import post_payment
from portal.orders.kernel.transitions import move_job, move_part
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.orders.production.inspecting import latest
from portal.shop.codes import normalise
from portal.shop.money import Money
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.shop.states import PaymentMethod
from portal.shop.verbs import EventVerb
from portal.store.jobs import Job, Part

LONGEST_NAME = 120
MOST_MONEY = 100_000_00  # in minor units; more is a slip of the finger


@dataclass(frozen=True, slots=True)
class HandBack:
    """What the person at the counter enters when parts are collected.

    Either `pickup_code` as the customer shows it, or `collector` (who takes the parts) with
    `override_reason`. With the code `collector` is who came in the customer's stead. `parts` are
    the numbers and `bags` the labels that were counted.
    `owing_because` explains a balance that stays open; a firm's goes on its monthly invoice, and
    `over_limit_because` is why it may owe more than its limit.
    """

    pickup_code: str
    parts: Collection[int]
    bags: Collection[str]
    paid_minor: int
    how: PaymentMethod | None
    collector: str = ""
    override_reason: str = ""
    owing_because: str = ""
    over_limit_because: str = ""


class NotYet(Refusal):
    """Several reasons at once, each with the field that it belongs to."""

    def __init__(self, reasons: Sequence[tuple[str, Message]]) -> None:
        super().__init__(reasons[0][1], key=reasons[0][0])
        self.reasons = tuple(reasons)


@transactional
def make_ready(unit: UnitOfWork, session: Session, job_id: int, *, who: int | None) -> None:
    """Put a job on the shelf and tell its customer; raise NotYet with every reason against it."""
    job = lock_job(session, job_id)
    if job.state is JobState.NOT_FETCHED:
        raise Refused(not_now(job.state))
    reasons = reasons_against_ready(session, job_id)
    if reasons:
        raise NotYet([("", reason) for reason in reasons])
    move_job(session, job_id, EventVerb.MAKE_READY, at=unit.now(), who=who)
    session.refresh(job)
    letter_ready(unit, session, job)


@transactional
def take_back(
    unit: UnitOfWork, session: Session, job_id: int, reason: str, *, who: int | None
) -> None:
    """Take a ready job back into work, with the reason."""
    text = " ".join(reason.split())[:300]
    if not text:
        raise Refused(Message("Enter why it goes back into work."), key="reason")

    lock_job(session, job_id)
    move_job(session, job_id, EventVerb.TAKE_BACK, at=unit.now(), who=who, note=text)


def reasons_against_ready(session: Session, job_id: int) -> list[Message]:
    """Return everything that keeps a job in work off the shelf."""
    parts = parts_in_production(parts_of(session, job_id))
    inspections = latest(session, [p.id for p in parts])
    reasons = [
        Message(
            "Part {part}{tag} is at “{stage}”.",
            part=part.number,
            tag=Message(" (tag {tag})", tag=part.tag) if part.tag else "",
            stage=part.stage,
        )
        for part in parts
        if part.stage is not PartStage.DONE
    ]
    reasons += [
        Message("Part {part} has not passed inspection.", part=part.number)
        for part in parts
        if part.stage is PartStage.DONE and not _accepted(inspections, part)
    ]
    for bag in bags_counted(session, job_id):
        if not bag.present:
            reasons.append(
                Message(
                    "Bag {label} ({contents}) is missing.", label=bag.label, contents=bag.contents
                )
            )
    open_findings = count_open_findings(session, job_id)
    if open_findings:
        reasons.append(Message("Findings without an answer: {count}.", count=open_findings))
    return reasons


@transactional
@idempotent("hand_back")
def hand_back(
    unit: UnitOfWork,
    session: Session,
    job_id: int,
    given: HandBack,
    *,
    expected_event_id: int,
    once_token: str,  # taken by the decorator
    who: int | None,
) -> None:
    """Hand the parts back: code, counts and payment in one transaction; the tags become free.

    Raise NotYet with every reason beside its field, or Overtaken.
    """
    job = lock_job(session, job_id)
    if job.state is JobState.READY:
        refuse_if_overtaken(session, job_id, expected_event_id)
    parts = parts_on_site(parts_of(session, job_id))
    reasons = _reasons(session, job, parts, given, who=who)
    if reasons:
        raise NotYet(reasons)
    now = unit.now()
    payment = None
    if given.paid_minor:
        assert given.how is not None  # _reasons asks for it
        payment = post_payment(unit, session, job, given.paid_minor, given.how, who=who)
    if goes_over(session, job, account_of(session, job_id).to_pay):
        record_over_limit(unit, session, job, given.over_limit_because, who=who)
    data = {
        "parts": sorted(given.parts),
        "bags": sorted(given.bags),
        "tags": {str(part.number): part.tag for part in parts if part.tag is not None},
        "payment": payment,
        "shelf": job.shelf,
        "owing": account_of(session, job_id).owed.minor,
    }
    if given.collector.strip():
        job.collector = " ".join(given.collector.split())[:LONGEST_NAME]
    move_job(
        session, job_id, EventVerb.HAND_BACK, at=now, who=who, says=_exceptions(given), data=data
    )
    for part in parts:
        # a part that could not be done never reached the end of the floor
        if part.stage is PartStage.DONE:
            move_part(session, part.id, to=PartStage.GONE, at=now, who=who)
        if part.tag is not None:
            free_tag(session, job, part, unit=unit, who=who)
    retire_lost_tags(unit, session, job, who=who)
    session.refresh(job)
    job.shelf = ""
    follow_account(unit, session, job, who=who)
    letter_handed_back(unit, session, job)


@read_only
def is_pickup_code(_unit: UnitOfWork, session: Session, job_id: int, typed: str) -> bool:
    """Return whether this is the pickup code of a job, as somebody typed or scanned it."""
    return normalise(typed) == normalise(load_job(session, job_id).pickup_code)


def _reasons(
    session: Session, job: Job, parts: Sequence[Part], given: HandBack, *, who: int | None
) -> list[tuple[str, Message]]:
    reasons: list[tuple[str, Message]] = []
    reasons += _code_reasons(job, given)
    missing = [str(p.number) for p in parts if p.number not in set(given.parts)]
    if missing:
        reasons.append(("parts", Message("Parts not counted: {parts}.", parts=", ".join(missing))))
    bags = [b.label for b in bags_counted(session, job.id) if b.label not in set(given.bags)]
    if bags:
        reasons.append(("bags", Message("Bags not counted: {bags}.", bags=", ".join(bags))))
    owed = account_of(session, job.id).owed
    reasons += _money_reasons(owed.minor, given, monthly=job.firm_id is not None)
    rest = owed - Money(given.paid_minor, job.currency)
    return reasons + reasons_against_owing(session, job, rest, given.over_limit_because, who=who)


def _code_reasons(job: Job, given: HandBack) -> list[tuple[str, Message]]:
    if given.override_reason.strip():
        if not given.collector.strip():
            return [("collector", Message("Enter the name of the person who takes the parts."))]
        return []
    if given.collector.strip() and not given.pickup_code.strip():
        return [("override_reason", Message("Enter why you hand back without the code."))]
    if not given.pickup_code.strip():
        return [
            (
                "pickup_code",
                Message("Ask the customer for the pickup code. It is on their status page."),
            )
        ]
    if normalise(given.pickup_code) != normalise(job.pickup_code):
        return [("pickup_code", Message("This is not the pickup code of this job. Ask again."))]
    return []


def _money_reasons(due: int, given: HandBack, *, monthly: bool) -> list[tuple[str, Message]]:
    reasons: list[tuple[str, Message]] = []
    if not 0 <= given.paid_minor <= MOST_MONEY:
        reasons.append(("paid", Message("This amount can't be right. Check it.")))
    elif given.paid_minor > max(due, 0):
        reasons.append(("paid", Message("This is more than the customer owes.")))
    elif given.paid_minor < due and not monthly and not given.owing_because.strip():
        reasons.append(
            (
                "owing_because",
                Message("Some of the price is unpaid. Enter why, or take the full amount."),
            )
        )
    if given.paid_minor and given.how is None:
        reasons.append(("how", Message("Choose how it was paid.")))
    return reasons


def _exceptions(given: HandBack) -> Message | None:
    """Return what was out of the ordinary: no code was shown, or something stays owing."""
    found = []
    if given.override_reason.strip():
        # the name stands with the customer's, where it can be erased; events are never changed
        found.append(Message("without code: {reason}", reason=given.override_reason.strip()))
    if given.owing_because.strip():
        found.append(Message("owing: {reason}", reason=given.owing_because.strip()))
    return Message("{exceptions}", exceptions=tuple(found)) if found else None


def _accepted(inspections: dict[int, Any], part: Part) -> bool:
    row = inspections.get(part.id)
    return row is not None and bool(row.accepted)
