"""Film readings of a part, accepted or not by the shop's rule, and what follows."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.inspection import Verdict, quality_label, spot_rule
from portal.craft.messages import CraftError, Message
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.job_lock import load_part, record_event
from portal.orders.kernel.transitions import move_part
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.orders.kernel.work_card import Card, read_card
from portal.shop.message_json import from_json, to_json
from portal.shop.route import INSPECTION, PartStage
from portal.shop.scans import THICKEST_UM
from portal.shop.works import InspectionRule
from portal.store.drafts import Photo
from portal.store.floor import Inspection
from portal.store.jobs import Job, Part
from portal.store.moves import Move

READINGS_A_SPOT = 3
MOST_READINGS = 60


@dataclass(frozen=True, slots=True)
class Looked:
    """What was seen besides the film: adhesion class (0 best … 5), gloss in units at 60°."""

    adhesion_class: int | None = None
    gloss_gu: int | None = None
    photo: str = ""


@dataclass(frozen=True, slots=True)
class Inspected:
    """The verdict, and where the part went."""

    accepted: bool
    says: Message
    stage: PartStage


def read_readings(typed: str) -> tuple[float, ...]:
    """Read film readings in µm as typed or as a gauge types them: one a line, or in a row.

    A comma inside a number is a decimal comma when readings stand on lines of their own or are
    parted by spaces. Raises Refused naming the first thing that is no reading.
    """
    pieces = re.split(r"[\s;]+", typed.strip())
    if len(pieces) == 1 and pieces[0].count(",") > 1:
        pieces = pieces[0].split(",")
    values = []
    for piece in filter(None, pieces):
        text = re.sub(r"(µm|μm|um)$", "", piece.strip(","), flags=re.IGNORECASE)
        if not text:
            continue
        if not re.fullmatch(r"\d{1,4}([.,]\d{1,3})?", text):
            raise Refused(
                Message("“{typed}” is not a reading. Enter a number in µm.", typed=piece[:20]),
                key="readings",
            )
        value = float(text.replace(",", "."))
        if not 0 < value <= THICKEST_UM:
            raise Refused(
                Message("{typed} µm can't be a film thickness. Check it.", typed=piece[:20]),
                key="readings",
            )
        values.append(value)
    if len(values) > MOST_READINGS:
        raise Refused(Message("Enter at most {most} readings.", most=MOST_READINGS), key="readings")
    return tuple(values)


def judge(values: Sequence[float], card: Card, rule: InspectionRule) -> Verdict:
    """Judge readings by the shop's rule against the films that this part was to get."""
    low, high = card.film_um
    if not low:
        raise Refused(
            Message("The plan for this part has no film thickness, so we can't check it.")
        )
    try:
        if rule is InspectionRule.QUALITY_LABEL:
            return quality_label(values, low)
        if not values or len(values) % READINGS_A_SPOT:
            raise Refused(
                Message(
                    "A spot is the mean of {each} readings. Enter that many for every spot.",
                    each=READINGS_A_SPOT,
                ),
                key="readings",
            )
        each = READINGS_A_SPOT
        return spot_rule([values[i : i + each] for i in range(0, len(values), each)], low, high)
    except CraftError as wrong:
        raise Refused(wrong.sentence, key="readings") from None


def inspect(  # what an inspection is made of, all named
    unit: UnitOfWork,
    part_id: int,
    values: Sequence[float],
    *,
    looked: Looked,
    looks_good: bool,
    once_token: str,
    who: int | None,
) -> Inspected:
    """Record an inspection. Accepted parts move on; others stay until they are sent for rework.

    `looks_good` is the eye's own verdict on surface and colour: a film in range does not save
    a run in the powder.
    """
    answer = _inspect(
        unit, part_id, values, looked, looks_good=looks_good, once_token=once_token, who=who
    )
    return Inspected(answer["accepted"], from_json(answer["says"]), PartStage(answer["stage"]))


@transactional
@idempotent("inspect")
def _inspect(  # noqa: PLR0913  # as `inspect`
    unit: UnitOfWork,
    session: Session,
    part_id: int,
    values: Sequence[float],
    looked: Looked,
    *,
    looks_good: bool,
    once_token: str,  # taken by the decorator
    who: int | None,
) -> dict[str, Any]:
    part = load_part(session, part_id, locked=True)
    if part.stage is not INSPECTION:
        raise Refused(
            Message(
                "This part is at “{stage}”, so you can't inspect it now.",
                stage=part.stage,
            )
        )
    rule = unit.shop(session).inspection_rule
    verdict = judge(values, read_card(part.work), rule)
    accepted = verdict.accepted and looks_good
    says = seen_by_eye(verdict, looks_good=looks_good)
    session.add(_row(unit, session, part, values, rule, says, looked, accepted=accepted, who=who))
    session.flush()
    _note(unit, session, part, says, accepted=accepted, who=who)
    stage: PartStage = INSPECTION
    if accepted:
        stage = move_part(session, part.id, at=unit.now(), who=who)
    return {"accepted": accepted, "says": to_json(says), "stage": str(stage)}


def seen_by_eye(verdict: Verdict, *, looks_good: bool) -> Message:
    """Return what readings and eye say together."""
    if looks_good:
        return verdict.says
    return Message("Film thickness: {film} But it doesn't pass by eye.", film=verdict.says)


@read_only
def tags_here(_unit: UnitOfWork, session: Session, part_id: int) -> frozenset[str]:
    """Return the tags that may be scanned at a part's inspection: its job's, and all that wait."""
    own = sa.select(Part.job_id).where(Part.id == part_id).scalar_subquery()
    query = sa.select(Part.tag).where(
        Part.tag.is_not(None), sa.or_(Part.job_id == own, Part.stage == INSPECTION)
    )
    return frozenset(session.scalars(query))


def latest(session: Session, part_ids: Sequence[int]) -> dict[int, Inspection]:
    """Return the last inspection of each part that counts: none from before its last rework."""
    query = (
        sa.select(Move.part_id, sa.func.max(Move.at))
        .where(Move.part_id.in_(part_ids), Move.verb == "rework")
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


def _row(  # noqa: PLR0913  # one value a column
    unit: UnitOfWork,
    session: Session,
    part: Part,
    values: Sequence[float],
    rule: InspectionRule,
    says: Message,
    looked: Looked,
    *,
    accepted: bool,
    who: int | None,
) -> Inspection:
    photo = None
    if looked.photo:
        photo = session.scalar(sa.select(Photo.id).where(Photo.token == looked.photo))
    return Inspection(
        part_id=part.id,
        readings_um=list(values),
        rule=rule,
        accepted=accepted,
        says=says,
        adhesion_class=looked.adhesion_class,
        gloss_gu=looked.gloss_gu,
        photo_id=photo,
        at=unit.now(),
        person_id=who,
    )


def _note(
    unit: UnitOfWork,
    session: Session,
    part: Part,
    says: Message,
    *,
    accepted: bool,
    who: int | None,
) -> None:
    job = session.get(Job, part.job_id)
    assert job is not None  # a foreign key holds it
    record_event(
        session,
        job,
        "inspect",
        at=unit.now(),
        who=who,
        part_id=part.id,
        says=says,
        data={"accepted": accepted},
    )
