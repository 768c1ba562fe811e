"""The inspection sheet: what was measured on each part of a job, for the customer to keep."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.declared import read_declared
from portal.craft.inspection import adhesion
from portal.craft.messages import Message
from portal.craft.parts import PartKind
from portal.craft.quantities import UnitSystem
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.job_links import behind
from portal.orders.kernel.job_lock import NOT_WORKED_ON
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.orders.kernel.work_card import Card, read_card
from portal.orders.production.inspecting import judge, latest, seen_by_eye
from portal.shop.codes import shown
from portal.store.floor import Inspection
from portal.store.tables import Customer, Job, Part
from portal.store.types import is_verbatim

BOXES = 5  # to be filled by hand while nothing is measured


@dataclass(frozen=True, slots=True)
class Measured:
    """One part: its plan, and its last inspection where there was one.

    `readings` in µm; `adhesion_class` after ISO 2409 (0 best); `gloss_gu` at 60°.
    """

    number: int
    label: Message
    tag: str
    card: Card
    readings: tuple[float, ...] = ()
    accepted: bool | None = None
    says: Message | None = None
    adhesion_class: int | None = None
    adhesion_says: Message | None = None
    gloss_gu: int | None = None
    at: datetime | None = None

    @property
    def mean(self) -> float | None:
        """The mean of all readings."""
        return sum(self.readings) / len(self.readings) if self.readings else None


@dataclass(frozen=True, slots=True)
class InspectionSheet:
    """The sheet of one job."""

    token: str
    code: str
    summary: Message
    parts: tuple[Measured, ...]
    has_wheels: bool = True
    boxes: int = BOXES
    units: UnitSystem | None = None


@read_only
def sheet(unit: UnitOfWork, session: Session, token: str) -> InspectionSheet:
    """Return the sheet of the job behind a link; raise Unknown for an invalid or expired link."""
    columns = (Job.id, Job.token, Job.code, Job.summary, Job.declared, Customer.units)
    job = behind(session, token, unit.now(), *columns)
    rows = session.execute(
        sa.select(Part.id, Part.number, Part.label, Part.tag, Part.work)
        .where(Part.job_id == job.id, Part.arrived.not_in(NOT_WORKED_ON))
        .order_by(Part.number)
    ).all()
    found = latest(session, [row.id for row in rows])
    parts = tuple(_measured(row, found.get(row.id)) for row in rows)
    wheels = any(one.kind is PartKind.WHEEL for one in read_declared(job.declared).sets)
    return InspectionSheet(
        job.token, shown(job.code), job.summary, parts, has_wheels=wheels, units=job.units
    )


def _measured(row: Any, found: Inspection | None) -> Measured:
    plain = Measured(row.number, row.label, row.tag or "", read_card(row.work))
    if found is None:
        return plain
    grade = found.adhesion_class
    return Measured(
        number=plain.number,
        label=plain.label,
        tag=plain.tag,
        card=plain.card,
        readings=tuple(float(value) for value in found.readings_um),
        accepted=found.accepted,
        says=_says(found, plain.card),
        adhesion_class=grade,
        adhesion_says=adhesion(grade).says if grade is not None else None,
        gloss_gu=found.gloss_gu,
        at=found.at,
    )


def _says(found: Inspection, card: Card) -> Message:
    """Return the verdict; one that was kept as English text is made again from its readings."""
    if not is_verbatim(found.says):
        return found.says
    try:
        verdict = judge(found.readings_um, card, found.rule)
    except (Refused, ValueError):
        return found.says
    return seen_by_eye(verdict, looks_good=found.accepted or not verdict.accepted)
