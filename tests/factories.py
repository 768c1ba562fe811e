"""Jobs for tests, made like real ones: appraised, priced, with the work of every part."""

import itertools
import os
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.checks import check
from portal.craft.corners import FOUR
from portal.craft.declared import read_declared, write_declared
from portal.craft.messages import Message
from portal.craft.parts import PartSet
from portal.orders.counter import check_in, corners
from portal.orders.counter.checks import record_check
from portal.orders.kernel.checks import lines_of
from portal.orders.kernel.firms import shop_for_firm
from portal.orders.kernel.job_lock import last_event, parts_of
from portal.orders.kernel.job_search import colour_names, search_text
from portal.orders.kernel.posting import Cause, post_price
from portal.orders.kernel.unit import UnitOfWork
from portal.orders.kernel.work_card import give_work
from portal.orders.production import floor, inspecting
from portal.orders.production.oven import close_load, start_load, waiting_of
from portal.shop.assessment.assess import assess
from portal.shop.assessment.stored import write_assessment
from portal.shop.codes import new_code, new_token
from portal.shop.moves import JobState
from portal.shop.pricing.quote import write_quote
from portal.shop.route import PartStage
from portal.shop.scheduling.oven_loads import propose
from portal.shop.states import TellBy
from portal.store.tables import Customer, Job, Move, Part
from tests.databases import scene

WHEELS: dict[str, Any] = {
    "kind": "wheel",
    "count": 4,
    "metal": "cast_aluminium",
    "build": "cast",
    "rim": "8Jx18 ET35 5x112",
    "layers": ["bare"],
    "fitted": ["centre_cap"],
    "removers": {"centre_cap": "you"},
    "finish": {"system": "single", "colour": "R9005-S", "gloss": "satin"},
}
PAINTED = {**WHEELS, "layers": ["factory_paint"]}
TWO_COATS = {**WHEELS, "finish": {"system": "base_clear", "colour": "EMBER-S", "gloss": "gloss"}}


@dataclass(frozen=True)
class Booked:
    """What a test needs to know of a job."""

    job_id: int
    code: str
    token: str
    pickup_code: str
    part_ids: tuple[int, ...]


def kind_of(one: PartSet) -> Message:
    """What the parts of a set are, as a message."""
    return Message(one.kind.title)


@scene
def a_booked_job(
    unit: UnitOfWork,
    *sets: dict[str, Any],
    name: str = "Robin Sample",
    phone: str = "+447700900123",
    vehicle: str = "Brown estate",
    bringing: str = "bare",
    dropoff: timedelta = timedelta(hours=1),
    order: dict[str, Any] | None = None,
    firm_id: int | None = None,
) -> Booked:
    """Put a booked job into the books; four cast wheels in satin black unless told otherwise.

    `order` is what was declared of the order as a whole, `firm_id` the trade customer.
    """

    def work(session: Session) -> Booked:
        now = unit.now()
        shop = shop_for_firm(unit, session, firm_id)
        told = read_declared(
            {"sets": list(sets or (WHEELS,)), "bringing": bringing, **(order or {})}
        )
        assessed = assess(told, shop, now.date())
        price = assessed.quote
        code = new_code(unit.random_bytes)
        job = Job(
            code=code,
            token=new_token(unit.random_bytes),
            pickup_code="4711",
            state=JobState.BOOKED,
            booked_at=now,
            declared=write_declared(told),
            summary=Message(
                "{count} × {parts}", count=told.sets[0].count, parts=kind_of(told.sets[0])
            ),
            quote=write_quote(price),
            assessed=write_assessment(assessed),
            currency=price.total.currency,
            total_minor=price.total.minor,
            customer=Customer(
                name=name, email="robin@example.com", phone=phone, tell_by=TellBy.EMAIL
            ),
            vehicle=vehicle,
            search=search_text(name, phone, code, vehicle, *colour_names(assessed.appraisal)),
            dropoff_at=now + dropoff,
            dropoff_until=now + dropoff + timedelta(minutes=30),
            promise_at=now + timedelta(days=7),
            promised_first_at=now + timedelta(days=7),
            firm_id=firm_id,
        )
        session.add(job)
        session.flush()
        post_price(session, job, Cause(now, None))
        parts = []
        for one in assessed.sets:
            for place in range(one.part_set.count):
                number = len(parts) + 1
                part = Part(
                    job_id=job.id,
                    number=number,
                    set_key=one.part_set.key,
                    label=Message("{part} {number}", part=kind_of(one.part_set), number=number),
                    stage=PartStage.EXPECTED,
                    work={},
                    stage_since=now,
                )
                give_work(part, assessed, place)
                session.add(part)
                parts.append(part)
        session.flush()
        return Booked(job.id, job.code, job.token, job.pickup_code, tuple(p.id for p in parts))

    return unit.write(work)


@scene
def a_job_in_work(
    unit: UnitOfWork, *sets: dict[str, Any], first_tag: int = 101, **told: Any
) -> Booked:
    """A job received through the verbs: all as declared, tagged from `first_tag` on."""
    job = a_booked_job(unit, *sets, **told)
    take_in(unit, job, first_tag=first_tag)
    return job


def take_in(unit: UnitOfWork, job: Booked, *, first_tag: int = 101) -> None:
    """Receive a booked job: all as declared, tagged from `first_tag` on."""
    check_in.as_declared(unit, job.job_id, who=None)
    for n in range(len(job.part_ids)):
        check_in.give_tag(unit, job.job_id, str(first_tag + n), who=None)
    note_corners(unit, job)
    check_in.receive(
        unit, job.job_id, expected_event_id=last_event_id(unit, job), once_token=a_token(), who=None
    )


def note_corners(unit: UnitOfWork, job: Booked) -> None:
    """Note every corner that is asked for: front left, front right, rear left, rear right."""
    with unit.read() as session:
        row = session.get_one(Job, job.job_id)
        numbers = corners.corner_not_noted(row, parts_of(session, job.job_id))
    noted = dict(zip(numbers, itertools.cycle(FOUR), strict=False))
    corners.note_corners(unit, job.job_id, noted, who=None)


@scene
def a_job_at(unit: UnitOfWork, stage: PartStage, *sets: dict[str, Any], **told: Any) -> Booked:
    """A job in work whose parts all stand at `stage`, brought there through the verbs."""
    job = a_job_in_work(unit, *sets, **told)
    bring_to(unit, job, stage)
    return job


@scene
def bring_to(unit: UnitOfWork, job: Booked, stage: PartStage) -> None:
    """Move every part of a job on until it stands at `stage`, each by its own verb."""
    for _ in range(12):
        now_at = _stages_of(unit, job.part_ids)
        if set(now_at) == {stage}:
            return
        at = now_at[0]
        if at is PartStage.CURE:
            bake(unit, job.part_ids)
        elif at is PartStage.INSPECT:
            for part_id in job.part_ids:
                accept(unit, part_id)
        else:
            pass_checks(unit, job)
            floor.move_on(unit, job.part_ids, to=_after(unit, job), who=None)
    msg = f"{stage} is not on the way of this job"
    raise AssertionError(msg)


def pass_checks(unit: UnitOfWork, job: Booked) -> None:
    """Record of every check that is due on a job that nothing was found."""
    with unit.read() as session:
        lines = [line for line in lines_of(session, job.job_id) if line.due]
    for line in lines:
        result = next(one for one in check(line.kind).results if not one.positive)
        record_check(
            unit,
            job.job_id,
            line.kind,
            result.key,
            [line.part_id],
            once_token=a_token(),
            who=None,
        )


def bake(unit: UnitOfWork, part_ids: Sequence[int]) -> None:
    """Bake parts that wait for the oven, each as planned, without the clock going on."""
    with unit.read() as session:
        rows = session.scalars(sa.select(Part).where(Part.id.in_(part_ids)).order_by(Part.id)).all()
        plan = unit.shop(session).stations.oven
    for load in propose([waiting_of(row) for row in rows], plan):
        number = start_load(
            unit,
            load.part_ids,
            set_point_c=load.set_point_c,
            minutes=load.minutes,
            once_token=a_token(),
            who=None,
        )
        close_load(unit, number, early_because="test", who=None)


def _stages_of(unit: UnitOfWork, part_ids: tuple[int, ...]) -> list[PartStage]:
    with unit.read() as session:
        return [session.get_one(Part, part_id).stage for part_id in part_ids]


def accept(unit: UnitOfWork, part_id: int) -> None:
    """Inspect a part with readings that any rule accepts."""
    with unit.read() as session:
        card = session.scalar(sa.select(Part.work).where(Part.id == part_id))["card"]
    middle = sum(card["film_um"]) / 2
    inspecting.inspect(
        unit,
        part_id,
        ((middle,) * 3,) * 5,
        looked=inspecting.Looked(looks_good=True),
        once_token=a_token(),
        who=None,
    )


def _after(unit: UnitOfWork, job: Booked) -> PartStage:
    from portal.orders.kernel.transitions import plan_of_row
    from portal.shop.route import next_stage

    with unit.read() as session:
        part = session.get(Part, job.part_ids[0])
        to = next_stage(part.stage, plan_of_row(part), part.coats_done)
    assert to is not None
    return to


_tokens = iter(range(10**6))
# a scene may come from another process, with the tokens that it took there
_OWN = os.environ.get("PYTEST_XDIST_WORKER", "gw")


def a_token() -> str:
    """A once-token as a page would carry it."""
    return f"once-{_OWN}-{next(_tokens):08d}"


def last_event_id(unit: UnitOfWork, job: Booked) -> int:
    """The number of the job's latest event, as a page shows it."""
    with unit.read() as session:
        return last_event(session, job.job_id)


def stages(unit: UnitOfWork, job: Booked) -> list[PartStage]:
    with unit.read() as session:
        return list(
            session.scalars(
                sa.select(Part.stage).where(Part.job_id == job.job_id).order_by(Part.number)
            )
        )


def state(unit: UnitOfWork, job: Booked) -> JobState:
    with unit.read() as session:
        found = session.scalar(sa.select(Job.state).where(Job.id == job.job_id))
    assert found is not None
    return found


def events(unit: UnitOfWork, job: Booked, verb: str) -> list[Move]:
    """The job's events of one kind, oldest first."""
    with unit.read() as session:
        query = sa.select(Move).where(Move.job_id == job.job_id, Move.verb == verb)
        return list(session.scalars(query.order_by(Move.id)))
