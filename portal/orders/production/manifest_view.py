"""The manifest of a strip run: what the stripper gets, and what the bath must not meet."""

from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.check_kinds import CheckKind
from portal.craft.messages import Message
from portal.craft.never import Never
from portal.craft.parts import Layer, Metal, WheelBuild
from portal.orders.kernel.checks import CheckRecord, records_of
from portal.orders.kernel.errors import Unknown
from portal.orders.kernel.job_order import declared_of
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.orders.kernel.work_card import nevers_at
from portal.orders.production.batches_view import no_such_run
from portal.shop.codes import shown
from portal.shop.route import OUTSIDE
from portal.store.floor import StripRun, StripRunPart
from portal.store.jobs import Job, Part

# the results of the check, as the trade's table has them
LEAD_FOUND, LEAD_CLEAR = "found", "clear"
_FOUND = Message("Lead or chromate was found in the old finish of these tags: {tags}.", tags="")
_OLD = Message(
    "Paint from before 1980 can contain lead or chromate. It is on these tags: {tags}.", tags=""
)
_CLEAR = Message("Tested for lead and chromate, none found: tags {tags}.", tags="")


@dataclass(frozen=True, slots=True)
class ManifestPart:
    """One line; `metal` is how a wheel is built where that is known, for a bath is made for one.

    `layers` is what is on it, outermost first; `nevers` what must not be done to it there; `old`
    whether its paint is from before 1980, and may contain lead or chromate.
    """

    tag: str
    code: str
    number: int
    label: Message
    metal: WheelBuild | Metal
    layers: tuple[Layer, ...]
    back: bool
    nevers: tuple[Never, ...] = ()
    old: bool = False
    lead: str = ""

    @property
    def shown_code(self) -> str:
        """The code as people read it."""
        return shown(self.code)


@dataclass(frozen=True, slots=True)
class Manifest:
    """The list that goes along with the parts of one run."""

    id: int
    leaves_on: date
    back_on: date
    parts: tuple[ManifestPart, ...]

    @property
    def old_paint(self) -> tuple[Message, ...]:
        """What the tank's people must know of lead and chromate, the worst first."""
        sentences = (
            (_FOUND, self._tags(LEAD_FOUND)),
            (_OLD, self._tags("", old=True)),
            (_CLEAR, self._tags(LEAD_CLEAR)),
        )
        return tuple(Message(says.msgid, tags=tags) for says, tags in sentences if tags)

    def _tags(self, lead: str, *, old: bool = False) -> str:
        own = (part for part in self.parts if part.lead == lead and (part.old or not old))
        return ", ".join(part.tag or "–" for part in own) if lead or old else ""


@read_only
def manifest(_unit: UnitOfWork, session: Session, run_id: int) -> Manifest:
    """Return the manifest of a strip run; Unknown where there is none."""
    run = session.get(StripRun, run_id)
    if run is None:
        raise Unknown(no_such_run(run_id))
    query = (
        sa.select(
            Part.id,
            Part.tag,
            Part.number,
            Part.label,
            Part.set_key,
            Part.work,
            Job.code,
            Job.declared,
            StripRunPart.counted_back,
        )
        .join(StripRunPart, StripRunPart.part_id == Part.id)
        .join(Job, Job.id == Part.job_id)
        .where(StripRunPart.run_id == run_id)
        .order_by(Job.id, Part.number)
    )
    rows = session.execute(query).all()
    records = records_of(session, [row.id for row in rows])
    parts = tuple(_manifest_part(row, records.get((row.id, CheckKind.LEAD))) for row in rows)
    return Manifest(run.id, run.leaves_on, run.back_on, parts)


def _manifest_part(row: Any, lead: CheckRecord | None) -> ManifestPart:
    declared = declared_of(row)
    own = next((one for one in declared.sets if one.key == row.set_key), None)
    return ManifestPart(
        tag=row.tag or "",
        code=row.code,
        number=row.number,
        label=row.label,
        metal=(own.build or own.metal) if own else Metal.UNKNOWN,
        layers=own.layers if own else (),
        back=row.counted_back,
        nevers=nevers_at(OUTSIDE, row.work),
        old=declared.original_before_1980,
        lead=lead.result if lead else "",
    )
