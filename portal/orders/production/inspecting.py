"""The inspection of a part: film, adhesion, gloss and look, accepted or not, and what follows."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.inspection import (
    Film,
    Seen,
    Verdict,
    adhesion,
    check_spots,
    gloss,
    no_cross_cut,
    quality_label,
    spot_means,
    spot_rule,
    spots_needed,
)
from portal.craft.message_json import from_json, to_json
from portal.craft.messages import CraftError, Message, joined
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.job_lock import load_part, record_event
from portal.orders.kernel.transitions import move_part
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.orders.kernel.work_card import Card, read_card
from portal.orders.production.readings import Spots
from portal.shop.faults import Fault
from portal.shop.route import INSPECTION, PartStage
from portal.shop.verbs import EventVerb
from portal.shop.works import InspectionRule
from portal.store.drafts import Photo
from portal.store.floor import Inspection
from portal.store.jobs import Job, Part
from portal.store.moves import Move

LONGEST_REASON = 300
_FAULTS = {Film.THIN: Fault.THIN, Film.THICK: Fault.THICK}


class TooThick(StrEnum):
    """What somebody decides about a film that is thicker than ordered."""

    ACCEPT = "accept"
    REWORK = "rework"


@dataclass(frozen=True, slots=True)
class Looked:
    """What was seen besides the film: adhesion class (0 best … 5), gloss in units at 60°.

    `looks_good` is the eye's own verdict on surface and colour: a film in range does not save a run
    in the powder. `too_thick` is decided where the film is, with the reason in `because`.
    """

    looks_good: bool
    adhesion_class: int | None = None
    gloss_gu: int | None = None
    photo: str = ""
    too_thick: TooThick | None = None
    because: str = ""


@dataclass(frozen=True, slots=True)
class Inspected:
    """The verdict, where the part went, and the fault that the figures name, if any."""

    accepted: bool
    says: Message
    stage: PartStage
    fault: Fault | None


@dataclass(frozen=True, slots=True)
class Judged:
    """What figures and eye say together."""

    accepted: bool
    says: Message
    fault: Fault | None


def judge(spots: Spots, card: Card, rule: InspectionRule) -> Verdict:
    """Judge readings by the shop's rule against the films that this part was to get."""
    if not card.film_um[0]:
        raise Refused(
            Message("The plan for this part has no film thickness, so we can't check it.")
        )
    try:
        check_spots(spots, spots_needed(card.area_m2))
    except CraftError as wrong:
        raise Refused(wrong.sentence, key="readings") from None
    return judge_values(spot_means(spots), card, rule)


def judge_values(values: Sequence[float], card: Card, rule: InspectionRule) -> Verdict:
    """Judge the values of the spots."""
    judged_by = quality_label if rule is InspectionRule.QUALITY_LABEL else spot_rule
    return judged_by(values, *card.film_um)


def spots_of(readings: Sequence[Any]) -> Spots:
    """Return kept readings by spot; in an older inspection each value was one of its own."""
    return tuple(tuple(one) if isinstance(one, list) else (float(one),) for one in readings)


def inspect(
    unit: UnitOfWork,
    part_id: int,
    spots: Spots,
    *,
    looked: Looked,
    once_token: str,
    who: int | None,
) -> Inspected:
    """Record an inspection. Accepted parts move on; others stay until they are sent for rework.

    Raises Refused with the key `too_thick` where somebody must decide about a thick film.
    """
    answer = _inspect(unit, part_id, spots, looked, once_token=once_token, who=who)
    return Inspected(
        accepted=answer["accepted"],
        says=from_json(answer["says"]),
        stage=PartStage(answer["stage"]),
        fault=Fault(answer["fault"]) if answer["fault"] else None,
    )


@transactional
@idempotent("inspect")
def _inspect(
    unit: UnitOfWork,
    session: Session,
    part_id: int,
    spots: Spots,
    looked: Looked,
    *,
    once_token: str,  # taken by the decorator
    who: int | None,
) -> dict[str, Any]:
    return inspect_part(unit, session, part_id, spots, looked, who=who)


def inspect_part(
    unit: UnitOfWork,
    session: Session,
    part_id: int,
    spots: Spots,
    looked: Looked,
    *,
    who: int | None,
) -> dict[str, Any]:
    """Record the inspection of a part in a transaction that is open; return what JSON can hold."""
    part = load_part(session, part_id, locked=True)
    if part.stage is not INSPECTION:
        raise Refused(
            Message(
                "This part is at “{stage}”, so you can't inspect it now.",
                stage=part.stage,
            )
        )
    card, rule = read_card(part.work), unit.shop(session).inspection_rule
    judged = judge_all(judge(spots, card, rule), card, looked)
    row = _row(unit, session, part, spots, looked, who=who)
    row.rule, row.accepted, row.says = rule, judged.accepted, judged.says
    session.add(row)
    session.flush()
    _note(unit, session, part, judged, who=who)
    stage: PartStage = INSPECTION
    if judged.accepted:
        stage = move_part(session, part.id, at=unit.now(), who=who)
    return {
        "accepted": judged.accepted,
        "says": to_json(judged.says),
        "stage": str(stage),
        "fault": judged.fault,
    }


def judge_all(verdict: Verdict, card: Card, looked: Looked) -> Judged:
    """Return what film, adhesion, gloss and eye say together; the first fault counts."""
    film, fault = _film(verdict, looked), _FAULTS.get(verdict.film)
    found = [(film, fault)]
    if looked.adhesion_class is not None:
        found.append((_adhesion(looked.adhesion_class, verdict, card), Fault.ADHESION))
    if looked.gloss_gu is not None and card.gloss_gu[1]:
        found.append((gloss(looked.gloss_gu, *card.gloss_gu), Fault.GLOSS))
    if not looked.looks_good:
        found.append((Seen(accepted=False, says=Message("It doesn't pass by eye.")), None))
    wrong = [fault for verdict, fault in found if not verdict.accepted]
    # a coat that comes off carries no other: that goes before all else
    first = Fault.ADHESION if Fault.ADHESION in wrong else next(filter(None, wrong), None)
    # what is as it should be beside the film stands in its own line of the sheet
    says = [one.says for n, (one, _) in enumerate(found) if not n or not one.accepted]
    return Judged(not wrong, joined(says), first)


def _film(verdict: Verdict, looked: Looked) -> Seen:
    if verdict.film is not Film.THICK:
        return Seen(verdict.accepted, verdict.says)
    if looked.too_thick is None:
        raise Refused(
            Message("{film} Decide what happens to this part.", film=verdict.says), key="too_thick"
        )
    because = " ".join(looked.because.split())
    if looked.too_thick is TooThick.REWORK:
        return Seen(accepted=False, says=verdict.says)
    if not because:
        raise Refused(Message("Enter why the thick film is accepted."), key="because")
    if len(because) > LONGEST_REASON:
        raise Refused(Message("Use at most {most} characters.", most=LONGEST_REASON), key="because")
    says = Message("{film} Accepted all the same: {because}", film=verdict.says, because=because)
    return Seen(accepted=True, says=says)


def _adhesion(grade: int, verdict: Verdict, card: Card) -> Seen:
    excluded = no_cross_cut(verdict.mean, textured=card.textured)
    if excluded is not None:
        raise Refused(excluded, key="adhesion")
    found = adhesion(grade)
    says = Message("Cross-cut class {grade}: {says}", grade=grade, says=found.says)
    return Seen(found.accepted, says)


def latest(session: Session, part_ids: Sequence[int]) -> dict[int, Inspection]:
    """Return the last inspection of each part that counts: none from before its last rework."""
    query = (
        sa.select(Move.part_id, sa.func.max(Move.at))
        .where(Move.part_id.in_(part_ids), Move.verb == EventVerb.REWORK)
        .group_by(Move.part_id)
    )
    reworked = {row[0]: row[1] for row in session.execute(query)}
    rows = session.scalars(
        sa.select(Inspection).where(Inspection.part_id.in_(part_ids)).order_by(Inspection.id)
    )
    return {
        row.part_id: row
        for row in rows
        if row.part_id not in reworked or row.at >= reworked[row.part_id]
    }


def _row(
    unit: UnitOfWork,
    session: Session,
    part: Part,
    spots: Spots,
    looked: Looked,
    *,
    who: int | None,
) -> Inspection:
    photo = None
    if looked.photo:
        photo = session.scalar(sa.select(Photo.id).where(Photo.token == looked.photo))
    return Inspection(
        part_id=part.id,
        readings_um=[list(spot) for spot in spots],
        adhesion_class=looked.adhesion_class,
        gloss_gu=looked.gloss_gu,
        photo_id=photo,
        at=unit.now(),
        person_id=who,
    )


def _note(
    unit: UnitOfWork, session: Session, part: Part, judged: Judged, *, who: int | None
) -> None:
    job = session.get(Job, part.job_id)
    assert job is not None  # a foreign key holds it
    record_event(
        session,
        job,
        EventVerb.INSPECT,
        at=unit.now(),
        who=who,
        part_id=part.id,
        says=judged.says,
        data={"accepted": judged.accepted},
    )
