"""Parts that came beside those that were ordered: a number of their own, and not in work yet.

They go home as they came, unless the customer agrees to have them done as well.
"""

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.craft.parts import MOST_PARTS
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.job_lock import parts_of
from portal.shop.pricing.differences import Difference
from portal.shop.route import PartStage
from portal.shop.states import Arrival
from portal.store.jobs import Job, Part
from portal.store.moves import Move


def next_numbers(session: Session, job_id: int, count: int) -> tuple[int, ...]:
    """Return the numbers that so many further parts of a job get."""
    last = max((part.number for part in parts_of(session, job_id)), default=0)
    return tuple(range(last + 1, last + count + 1))


def add_parts(session: Session, job: Job, found: Difference, *, at: datetime) -> None:
    """Add the parts of a difference, each with the work of those that it is like."""
    every = parts_of(session, job.id)
    like = next((part for part in every if part.set_key == found.set_key), None)
    if like is None or found.numbers != next_numbers(session, job.id, len(found.numbers)):
        raise Refused(Message("Choose the parts that differ."), key="parts")
    if len(every) + len(found.numbers) > MOST_PARTS:
        raise Refused(
            Message("A job has at most {most} parts. Take a new order.", most=MOST_PARTS),
            key="count",
        )
    session.add_all(
        Part(
            job_id=job.id,
            number=number,
            set_key=like.set_key,
            label=like.label,
            arrived=Arrival.TURNED_AWAY,
            stage=PartStage.EXPECTED,
            stage_since=at,
            coats=like.coats,
            needs_strip=like.needs_strip,
            needs_refit=like.needs_refit,
            work=like.work,
        )
        for number in found.numbers
    )
    session.flush()


def drop_parts(session: Session, job: Job, found: Difference) -> None:
    """Take the parts of a withdrawn difference out again; what has events stays as not brought."""
    for part in parts_of(session, job.id):
        if part.number not in found.numbers:
            continue
        event_id = session.scalar(sa.select(Move.id).where(Move.part_id == part.id).limit(1))
        if event_id is None:
            session.delete(part)
        else:
            part.arrived, part.tag = Arrival.MISSING, None
    session.flush()
