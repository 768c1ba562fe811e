"""The inspection sheet: what was measured on each part of a job, for the customer to keep."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.inspection import adhesion, no_cross_cut, spot_means
from portal.craft.messages import Message
from portal.craft.parts import PartKind
from portal.craft.quantities import UnitSystem
from portal.orders.customer.checks_told import CheckTold, checks_told
from portal.orders.kernel.checks import lines_of
from portal.orders.kernel.errors import Refused, Unknown
from portal.orders.kernel.job_links import behind
from portal.orders.kernel.job_lock import NOT_WORKED_ON
from portal.orders.kernel.job_order import declared_of
from portal.orders.kernel.reworks import Reworked, reworks_of
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.orders.kernel.work_card import Card, read_card
from portal.orders.production.inspecting import (
    Looked,
    TooThick,
    judge_all,
    judge_values,
    latest,
    spots_of,
)
from portal.orders.production.part_heat import heat_of_parts, heat_said
from portal.orders.production.readings import Spots
from portal.shop.codes import shown
from portal.shop.works import InspectionRule
from portal.store.floor import Inspection
from portal.store.tables import Customer, Job, Part, Person
from portal.store.types import is_verbatim

NOTHING_YET = Message(
    "We haven't measured anything yet. The inspection sheet is here once we have inspected a part."
)
BOXES = 5  # to be filled by hand while nothing is measured


@dataclass(frozen=True, slots=True)
class Measured:
    """One part: its plan, and its last inspection where there was one.

    `spots` has the readings at each spot in µm, `means` their means; `adhesion_class` that of ISO
    2409 (0 best), None where the standard doesn't cover the coating; `gloss_gu` at 60°; `by` is who
    measured, `redone` what was wrong with it before, `heat` what its bakes add up to.
    """

    number: int
    label: Message
    tag: str
    card: Card
    spots: Spots = ()
    means: tuple[float, ...] = ()
    accepted: bool | None = None
    says: Message | None = None
    adhesion_class: int | None = None
    adhesion_says: Message | None = None
    gloss_gu: int | None = None
    at: datetime | None = None
    by: str = ""
    rule: InspectionRule | None = None
    redone: tuple[Reworked, ...] = ()
    heat: tuple[Message, ...] = ()


@dataclass(frozen=True, slots=True)
class InspectionSheet:
    """The sheet of one job."""

    token: str
    code: str
    summary: Message
    customer: str
    vehicle: str
    parts: tuple[Measured, ...]
    has_wheels: bool = True
    checks: tuple[CheckTold, ...] = ()
    boxes: int = BOXES
    units: UnitSystem | None = None


@read_only
def sheet(unit: UnitOfWork, session: Session, token: str) -> InspectionSheet:
    """Return the sheet of the job behind a link.

    Raises Unknown for an invalid or expired link, and before anything was measured.
    """
    columns = (Job.id, Job.token, Job.code, Job.state, Job.summary, Job.declared, Job.vehicle)
    who = (Customer.name, Customer.units)
    job = behind(session, token, unit.now(), *columns, *who)
    return sheet_of(unit, session, job)


def sheet_of(unit: UnitOfWork, session: Session, job: Any) -> InspectionSheet:
    """Return the sheet of a job, from a row with its columns and those of its customer.

    Raises Unknown before anything was measured.
    """
    rows = session.execute(
        sa.select(Part.id, Part.number, Part.label, Part.tag, Part.work)
        .where(Part.job_id == job.id, Part.arrived.not_in(NOT_WORKED_ON))
        .order_by(Part.number)
    ).all()
    ids = [row.id for row in rows]
    found = latest(session, ids)
    if not found and not job.state.is_done:
        raise Unknown(NOTHING_YET)
    people = _names(session, found.values())
    heats = heat_of_parts(session, unit.shop(session), ids, unit.now())
    redone = reworks_of(session, ids)
    parts = tuple(
        replace(
            _measured(
                row,
                found.get(row.id),
                people,
                tuple(one for one in redone if one.part_id == row.id),
            ),
            heat=heat_said(heats[row.id]),
        )
        for row in rows
    )
    wheels = any(one.kind is PartKind.WHEEL for one in declared_of(job).sets)
    checks = tuple(one for one in checks_told(lines_of(session, job.id)) if one.done)
    return InspectionSheet(
        checks=checks,
        token=job.token,
        code=shown(job.code),
        summary=job.summary,
        customer=job.name,
        vehicle=job.vehicle or "",
        parts=parts,
        has_wheels=wheels,
        units=job.units,
    )


def _names(session: Session, found: Iterable[Inspection]) -> dict[int, str]:
    ids = {one.person_id for one in found if one.person_id is not None}
    return dict(session.execute(sa.select(Person.id, Person.name).where(Person.id.in_(ids))).all())


def _measured(
    row: Any, found: Inspection | None, people: Mapping[int, str], redone: tuple[Reworked, ...]
) -> Measured:
    plain = Measured(row.number, row.label, row.tag or "", read_card(row.work), redone=redone)
    if found is None:
        return plain
    spots = spots_of(found.readings_um)
    means = spot_means(spots)
    grade = found.adhesion_class
    excluded = no_cross_cut(sum(means) / len(means), textured=plain.card.textured)
    if excluded:
        grade = None
    return replace(
        plain,
        spots=spots,
        means=means,
        accepted=found.accepted,
        says=_says(found, plain.card),
        adhesion_class=grade,
        adhesion_says=adhesion(grade).says if grade is not None else None,
        gloss_gu=found.gloss_gu,
        at=found.at,
        by=people.get(found.person_id or 0, ""),
        rule=found.rule,
    )


def _says(found: Inspection, card: Card) -> Message:
    """Return the verdict; one that was kept as English text is made again from its readings."""
    if not is_verbatim(found.says):
        return found.says
    try:
        verdict = judge_values(spot_means(spots_of(found.readings_um)), card, found.rule)
        eye = found.accepted or not verdict.accepted
        looked = Looked(looks_good=eye, too_thick=TooThick.REWORK)
        return judge_all(verdict, card, looked).says
    except (Refused, ValueError):
        return found.says
