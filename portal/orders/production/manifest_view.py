"""The manifest of a strip run: what the stripper gets, and what the bath must not meet."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.declared import read_declared
from portal.craft.messages import Message
from portal.craft.parts import Layer, Metal, PartSet, WheelBuild
from portal.orders.kernel.errors import Unknown
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.orders.production.batches_view import no_such_run
from portal.shop.codes import shown
from portal.store.floor import StripRun, StripRunPart
from portal.store.jobs import Job, Part


@dataclass(frozen=True, slots=True)
class ManifestPart:
    """One line; `metal` is how a wheel is built where that is known, for a bath is made for one.

    `layers` is what is on it, outermost first.
    """

    tag: str
    code: str
    number: int
    label: Message
    metal: WheelBuild | Metal
    layers: tuple[Layer, ...]
    back: bool

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


@read_only
def manifest(_unit: UnitOfWork, session: Session, run_id: int) -> Manifest:
    """Return the manifest of a strip run; Unknown where there is none."""
    run = session.get(StripRun, run_id)
    if run is None:
        raise Unknown(no_such_run(run_id))
    query = (
        sa.select(
            Part.tag,
            Part.number,
            Part.label,
            Part.set_key,
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
    return Manifest(run.id, run.leaves_on, run.back_on, tuple(_manifest_part(row) for row in rows))


def _manifest_part(row: Any) -> ManifestPart:
    own = _set_of(row.declared, row.set_key)
    return ManifestPart(
        tag=row.tag or "",
        code=row.code,
        number=row.number,
        label=row.label,
        metal=(own.build or own.metal) if own else Metal.UNKNOWN,
        layers=own.layers if own else (),
        back=row.counted_back,
    )


def _set_of(declared: Mapping[str, Any], key: str) -> PartSet | None:
    return next((one for one in read_declared(declared).sets if one.key == key), None)
