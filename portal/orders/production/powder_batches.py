"""From which batch of its maker the powder of an oven load came, and which jobs got it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.work_card import CardCoat
from portal.shop.codes import shown
from portal.store.floor import OvenLoad, OvenLoadBatch, OvenLoadPart
from portal.store.jobs import Job, Part

LONGEST_BATCH = 40
MOST_SHOWN = 20


@dataclass(frozen=True, slots=True)
class PowderInLoad:
    """A powder that a load would cure, and the batch of its last load, "" where none was noted."""

    code: str
    name: str
    hex: str
    last_batch: str


@dataclass(frozen=True, slots=True)
class BatchUsed:
    """A batch of a powder: in which loads, since when, on which jobs (codes in groups)."""

    batch: str
    loads: tuple[int, ...]
    since: datetime
    codes: tuple[str, ...]


def powders_in(session: Session, coats: Iterable[CardCoat]) -> tuple[PowderInLoad, ...]:
    """Return the powders of these coats, each once, with the batch that was noted last."""
    own = {coat.powder_code: coat for coat in coats}
    newest = (
        sa.select(OvenLoadBatch.powder_code, sa.func.max(OvenLoadBatch.load_id).label("load_id"))
        .where(OvenLoadBatch.powder_code.in_(own))
        .group_by(OvenLoadBatch.powder_code)
        .subquery()
    )
    query = sa.select(OvenLoadBatch.powder_code, OvenLoadBatch.batch).join(
        newest,
        sa.and_(
            newest.c.powder_code == OvenLoadBatch.powder_code,
            newest.c.load_id == OvenLoadBatch.load_id,
        ),
    )
    last = {row.powder_code: row.batch for row in session.execute(query)}
    return tuple(
        PowderInLoad(code, coat.powder_name, coat.hex, last.get(code, ""))
        for code, coat in own.items()
    )


def note_batches(
    session: Session, load_id: int, coats: Iterable[CardCoat], typed: Mapping[str, str]
) -> None:
    """Note the batches of a load's powders, as typed by powder code; others are left out."""
    for code in dict.fromkeys(coat.powder_code for coat in coats):
        batch = " ".join(typed.get(code, "").split())
        if len(batch) > LONGEST_BATCH:
            raise Refused(
                Message("Use at most {most} characters.", most=LONGEST_BATCH), key=f"batch-{code}"
            )
        if batch:
            session.add(OvenLoadBatch(load_id=load_id, powder_code=code, batch=batch))


def batches_in(session: Session, load_ids: Iterable[int]) -> dict[int, tuple[str, ...]]:
    """Return the batches of each load."""
    query = sa.select(OvenLoadBatch.load_id, OvenLoadBatch.batch).where(
        OvenLoadBatch.load_id.in_(list(load_ids))
    )
    found: dict[int, tuple[str, ...]] = {}
    for row in session.execute(query.order_by(OvenLoadBatch.powder_code)):
        found[row.load_id] = (*found.get(row.load_id, ()), row.batch)
    return found


def batches_used(session: Session, powder_code: str) -> tuple[BatchUsed, ...]:
    """Return the last batches of a powder with the jobs whose parts were coated with them."""
    query = (
        sa.select(OvenLoadBatch.batch, OvenLoad.id, OvenLoad.started_at, Job.code, Part.work)
        .join(OvenLoad, OvenLoad.id == OvenLoadBatch.load_id)
        .join(OvenLoadPart, OvenLoadPart.load_id == OvenLoad.id)
        .join(Part, Part.id == OvenLoadPart.part_id)
        .join(Job, Job.id == Part.job_id)
        .where(OvenLoadBatch.powder_code == powder_code, OvenLoadPart.coat > 0)
        .order_by(OvenLoad.id.desc(), Job.id)
    )
    found: dict[str, dict[int, datetime]] = {}
    codes: dict[str, dict[str, None]] = {}
    for row in session.execute(query):
        card = row.work.get("card", {}).get("coats", [])
        if powder_code not in {coat.get("powder_code") for coat in card}:
            continue
        found.setdefault(row.batch, {})[row.id] = row.started_at
        codes.setdefault(row.batch, {})[shown(row.code)] = None
    return tuple(
        BatchUsed(batch, tuple(loads), min(loads.values()), tuple(codes[batch]))
        for batch, loads in list(found.items())[:MOST_SHOWN]
    )
