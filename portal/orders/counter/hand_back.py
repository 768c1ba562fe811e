"""Ready, and home: no part or bag is left behind, and nothing goes unpaid without a word."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.parts import Titled
from portal.craft.say import Said, say
from portal.orders.counter.check_in import free_tag
from portal.orders.counter.lost import let_lost_tags_go
from portal.orders.kernel.errors import Refusal, Refused, Unknown
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.job_lock import (
    lock_job,
    parts_in_production,
    parts_of,
    parts_on_site,
    record_event,
    refuse_if_overtaken,
)
from portal.orders.kernel.notifications import letter_handed_back, letter_ready
from portal.orders.kernel.transitions import move_job, move_part
from portal.orders.kernel.unit import UnitOfWork
from portal.orders.production.inspecting import latest
from portal.shop.codes import normalise
from portal.shop.moves import JobState, PartStage
from portal.store.jobs import Finding, HardwareBag, Job, Part, Payment

MOST_MONEY = 100_000_00  # in minor units; more is a slip of the finger


class Paid(Titled):
    """How money was taken."""

    CARD = "card", "Card"
    CASH = "cash", "Cash"
    TRANSFER = "transfer", "Bank transfer"


@dataclass(frozen=True, slots=True)
class HandBack:
    """What the person at the counter says when parts go home.

    Either `pickup_code` as the customer shows it, or `override_name` (who takes the parts) with
    `override_reason`. `parts` are the numbers and `bags` the labels that were counted out loud.
    `owing_because` explains a balance that stays open.
    """

    pickup_code: str
    parts: Collection[int]
    bags: Collection[str]
    paid_minor: int
    how: Paid | None
    override_name: str = ""
    override_reason: str = ""
    owing_because: str = ""


class NotYet(Refusal):
    """Several reasons at once, each with the field that it belongs to."""

    def __init__(self, reasons: Sequence[tuple[str, Said]]) -> None:
        super().__init__(reasons[0][1], key=reasons[0][0])
        self.reasons = tuple(reasons)


def make_ready(unit: UnitOfWork, job_id: int, *, who: int | None) -> None:
    """Put a job on the shelf and tell its customer; NotYet with every reason against it."""

    def work(session: Session) -> None:
        job = lock_job(session, job_id)
        reasons = reasons_against_ready(session, job_id)
        if reasons:
            raise NotYet([("", reason) for reason in reasons])
        move_job(session, job_id, "make_ready", at=unit.now(), who=who)
        session.refresh(job)
        letter_ready(unit, session, job)

    unit.write(work)


def take_back(unit: UnitOfWork, job_id: int, reason: str, *, who: int | None) -> None:
    """Take a ready job back into work, with the reason."""
    text = " ".join(reason.split())[:300]
    if not text:
        raise Refused(say("Enter why it goes back into work."), key="reason")

    def work(session: Session) -> None:
        lock_job(session, job_id)
        move_job(session, job_id, "take_back", at=unit.now(), who=who, note=text)

    unit.write(work)


def reasons_against_ready(session: Session, job_id: int) -> list[Said]:
    """Everything that keeps a job in work off the shelf."""
    parts = parts_in_production(parts_of(session, job_id))
    seen = latest(session, [p.id for p in parts])
    reasons = [
        say(
            "Part {part}{tag} is at “{stage}”.",
            part=part.number,
            tag=say(" (tag {tag})", tag=part.tag) if part.tag else "",
            stage=say(part.stage.title),
        )
        for part in parts
        if part.stage is not PartStage.DONE
    ]
    reasons += [
        say("Part {part} has not passed inspection.", part=part.number)
        for part in parts
        if part.stage is PartStage.DONE and not _accepted(seen, part)
    ]
    for bag in _bags(session, job_id):
        if not bag.present:
            reasons.append(
                say("Bag {label} ({contents}) is missing.", label=bag.label, contents=bag.contents)
            )
    open_findings = session.scalar(
        sa.select(sa.func.count()).where(Finding.job_id == job_id, Finding.answer == "")
    )
    if open_findings:
        reasons.append(say("Findings without an answer: {count}.", count=open_findings))
    return reasons


def set_bag(unit: UnitOfWork, job_id: int, label: str, *, present: bool, who: int | None) -> None:
    """Note that a hardware bag is here, or that it can't be found."""

    def work(session: Session) -> None:
        job = lock_job(session, job_id)
        bag = next((b for b in _bags(session, job_id) if b.label == label), None)
        if bag is None:
            raise Unknown(say("This job has no bag {label}.", label=label))
        if bag.present != present:
            bag.present = present
            note = f"{label}: {'here' if present else 'missing'}"
            record_event(session, job, "bag", at=unit.now(), who=who, note=note)

    unit.write(work)


def take_payment(
    unit: UnitOfWork, job_id: int, amount_minor: int, how: Paid, *, once_token: str, who: int | None
) -> None:
    """Note money taken before the hand-back: a deposit, or a finding paid at once."""
    if not 0 < amount_minor <= MOST_MONEY:
        raise Refused(say("Enter the amount paid."), key="amount")

    def work(session: Session) -> dict[str, Any]:
        _pay(unit, session, lock_job(session, job_id), amount_minor, how, who)
        return {}

    unit.write(
        lambda session: idempotent(session, once_token, "pay", unit.now(), lambda: work(session))
    )


def hand_back(
    unit: UnitOfWork, job_id: int, given: HandBack, *, seen: int, once_token: str, who: int | None
) -> None:
    """Give the parts back: code, counts and payment in one transaction; the tags become free.

    Raises NotYet with every reason beside its field, or Overtaken.
    """

    def work(session: Session) -> dict[str, Any]:
        job = lock_job(session, job_id)
        if job.state is JobState.READY:
            refuse_if_overtaken(session, job_id, seen)
        parts = parts_on_site(parts_of(session, job_id))
        reasons = _reasons(session, job, parts, given)
        if reasons:
            raise NotYet(reasons)
        now = unit.now()
        if given.paid_minor:
            assert given.how is not None  # _reasons asks for it
            _pay(unit, session, job, given.paid_minor, given.how, who)
        data = {
            "parts": sorted(given.parts),
            "bags": sorted(given.bags),
            "owing": job.total_minor - job.paid_minor,
        }
        move_job(session, job_id, "hand_back", at=now, who=who, note=_note(given), data=data)
        for part in parts:
            # a part that could not be done never reached the end of the floor
            if part.stage is PartStage.DONE:
                move_part(session, part.id, to=PartStage.GONE, at=now, who=who)
            if part.tag is not None:
                free_tag(session, job, part, unit=unit, who=who)
        let_lost_tags_go(unit, session, job, who=who)
        session.refresh(job)
        letter_handed_back(unit, session, job)
        return {}

    unit.write(
        lambda session: idempotent(
            session, once_token, "hand_back", unit.now(), lambda: work(session)
        )
    )


def _reasons(
    session: Session, job: Job, parts: Sequence[Part], given: HandBack
) -> list[tuple[str, Said]]:
    reasons: list[tuple[str, Said]] = []
    reasons += _code_reasons(job, given)
    missing = [str(p.number) for p in parts if p.number not in set(given.parts)]
    if missing:
        reasons.append(("parts", say("Parts not counted: {parts}.", parts=", ".join(missing))))
    bags = [b.label for b in _bags(session, job.id) if b.label not in set(given.bags)]
    if bags:
        reasons.append(("bags", say("Bags not counted: {bags}.", bags=", ".join(bags))))
    return reasons + _money_reasons(job, given)


def _code_reasons(job: Job, given: HandBack) -> list[tuple[str, Said]]:
    if given.override_name.strip() or given.override_reason.strip():
        if not given.override_name.strip():
            return [("override_name", say("Enter the name of the person who takes the parts."))]
        if not given.override_reason.strip():
            return [("override_reason", say("Enter why you hand back without the code."))]
        return []
    if not given.pickup_code.strip():
        return [
            (
                "pickup_code",
                say("Ask the customer for the pickup code. It is on their status page."),
            )
        ]
    if normalise(given.pickup_code) != normalise(job.pickup_code):
        return [("pickup_code", say("This is not the pickup code of this job. Ask again."))]
    return []


def _money_reasons(job: Job, given: HandBack) -> list[tuple[str, Said]]:
    due = job.total_minor - job.paid_minor
    reasons: list[tuple[str, Said]] = []
    if not 0 <= given.paid_minor <= MOST_MONEY:
        reasons.append(("paid", say("This amount can't be right. Check it.")))
    elif given.paid_minor > max(due, 0):
        reasons.append(("paid", say("This is more than the customer owes.")))
    elif given.paid_minor < due and not given.owing_because.strip():
        reasons.append(
            (
                "owing_because",
                say("Some of the price is unpaid. Enter why, or take the full amount."),
            )
        )
    if given.paid_minor and given.how is None:
        reasons.append(("how", say("Choose how it was paid.")))
    return reasons


def _note(given: HandBack) -> str:
    pieces = []
    if given.override_name.strip():
        pieces.append(
            f"without code, to {given.override_name.strip()}: {given.override_reason.strip()}"
        )
    if given.owing_because.strip():
        pieces.append(f"owing: {given.owing_because.strip()}")
    return "; ".join(pieces)[:400]


def _pay(
    unit: UnitOfWork, session: Session, job: Job, amount_minor: int, how: Paid, who: int | None
) -> None:
    session.add(
        Payment(job_id=job.id, amount_minor=amount_minor, how=how, at=unit.now(), person_id=who)
    )
    job.paid_minor += amount_minor
    data = {"minor": amount_minor, "how": str(how)}
    record_event(session, job, "pay", at=unit.now(), who=who, note=how.title, data=data)


def _bags(session: Session, job_id: int) -> list[HardwareBag]:
    query = sa.select(HardwareBag).where(HardwareBag.job_id == job_id).order_by(HardwareBag.id)
    return list(session.scalars(query))


def _accepted(seen: dict[int, Any], part: Part) -> bool:
    row = seen.get(part.id)
    return row is not None and bool(row.accepted)
