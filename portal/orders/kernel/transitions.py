"""The only way in which a job or a part changes its state: one allowed move, and its row.

An update names the state that it starts from, so that of two movers one wins and the other is
told. *Not allowed*, *already so* and *overtaken* are three different answers.
"""

from datetime import datetime, timedelta
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.checks import refuse_if_open
from portal.orders.kernel.errors import Already, Overtaken, Refused, Unknown
from portal.orders.kernel.job_lock import NO_JOB, load_part, not_now
from portal.orders.kernel.retention_times import LINK_LIVES
from portal.shop.faults import Fault, coats_kept
from portal.shop.moves import JOB_MOVES, JobState
from portal.shop.route import BARED, FIRST, PartPlan, PartStage, next_stage
from portal.shop.verbs import EventVerb
from portal.store.tables import Job, Move, Part

# the page offers ten seconds; the rest is the way through a slow network
UNDO_FOR = timedelta(seconds=15)
# built once: building a statement costs more than running it
_STATE = sa.select(Job.state).where(Job.id == sa.bindparam("job_id"))


def move_job(  # noqa: PLR0913  # an event has this many sides, all named
    session: Session,
    job_id: int,
    verb: EventVerb,
    *,
    at: datetime,
    who: int | None,
    note: str = "",
    says: Message | None = None,
    data: dict[str, Any] | None = None,
) -> None:
    """Move a job by one verb of `shop.moves.JOB_MOVES`, and write it down.

    Raises `Already`, `Refused`, `Overtaken` or `Unknown`.
    """
    sources, to = JOB_MOVES[verb]
    state = session.scalar(_STATE, {"job_id": job_id})
    if state is None:
        raise Unknown(NO_JOB)
    if state not in sources:
        refusal = Already if state is to else Refused
        raise refusal(not_now(state))
    done = session.execute(
        sa.update(Job)
        .where(Job.id == job_id, Job.state == state)
        .values(state=to, **_times(verb, at))
        .execution_options(synchronize_session="fetch")
    )
    _check_updated_one(done)
    session.add(
        Move(
            job_id=job_id,
            verb=verb,
            from_=state,
            to=to,
            at=at,
            person_id=who,
            note=note,
            says=says,
            data=data or {},
        )
    )
    session.flush()


def move_part(  # noqa: PLR0913  # an event has this many sides, all named
    session: Session,
    part_id: int,
    *,
    to: PartStage | None = None,
    at: datetime,
    who: int | None,
    note: str = "",
    scan_id: str | None = None,
    fault: Fault | None = None,
    allow_while_waiting: bool = False,
) -> PartStage:
    """Move a part to its next stage (`to` may name it), or back for the rework of a fault.

    A fault sends it to where the fault is put right, with `note` as what somebody wrote.

    A `scan_id` that has counted already changes nothing and gets the same answer.
    `allow_while_waiting` is for what nobody can keep from ending, a cure or a strip run: it is
    written down also while the job waits for its customer. Raises `Already`, `Refused`,
    `Overtaken`, `Unknown`, or `CheckOpen` where a test that comes before the stage is not done.
    """
    if scan_id is not None:
        counted = session.scalar(sa.select(Move.to).where(Move.scan_id == scan_id))
        if counted is not None:
            return PartStage(counted)
    part = load_part(session, part_id)
    target = _target(part, to) if fault is None else _back_to(part, fault)
    _job_must_allow(session, part, target, allow_while_waiting=allow_while_waiting)
    if target is not FIRST and not allow_while_waiting:
        refuse_if_open(session, part, target)
    before = {"coats_done": part.coats_done, "reworks": part.reworks}
    after = before
    if fault is not None:
        coats = coats_kept(part.stage, part.coats_done, target)
        after = {"coats_done": coats, "reworks": part.reworks + 1}
    elif part.stage.ends_coat:
        after = {**before, "coats_done": part.coats_done + 1}
    stage = part.stage
    _put(session, part, target, at, after)
    _record(
        session,
        part,
        EventVerb.REWORK if fault else EventVerb.MOVE,
        stage,
        at=at,
        who=who,
        note=note,
        says=fault.said(note) if fault else None,
        data={"before": before, **({"fault": fault.value} if fault else {})},
        scan_id=scan_id,
    )
    return target


def undo(session: Session, part_id: int, *, at: datetime, who: int | None) -> PartStage:
    """Take back the last move of a part, within `UNDO_FOR`; the undo is itself an event."""
    part = load_part(session, part_id)
    last = session.scalars(
        sa.select(Move).where(Move.part_id == part_id).order_by(Move.id.desc()).limit(1)
    ).first()
    if last is None or last.verb not in {EventVerb.MOVE, EventVerb.REWORK}:
        raise Refused(Message("There is nothing to undo."))
    if at - last.at > UNDO_FOR:
        raise Refused(Message("It is too late to undo this. Move the part by hand."))
    if last.to != part.stage:
        raise Overtaken(Message("Someone else has moved this part since then."))
    back, stage = PartStage(str(last.from_)), part.stage
    _put(session, part, back, at, last.data["before"])
    _record(session, part, EventVerb.UNDO, stage, at=at, who=who, data={"undoes": last.id})
    return back


def return_to_shelf(session: Session, part: Part, *, at: datetime, who: int | None) -> None:
    """Take back that a part has gone home: it waits on the shelf again."""
    counts = {"coats_done": part.coats_done, "reworks": part.reworks}
    stage = part.stage
    _put(session, part, PartStage.DONE, at, counts)
    _record(session, part, EventVerb.UNDO, stage, at=at, who=who)


def send_to_strip(session: Session, part: Part, *, at: datetime, who: int | None) -> None:
    """Send a part that waits to be blasted back to where its stripping begins, and write it down.

    It is for what is found late: what the part now needs done outside must come before the grit.
    """
    if part.stage is not BARED or not part.needs_strip or part.coats_done:
        return
    counts = {"coats_done": part.coats_done, "reworks": part.reworks}
    stage = part.stage
    _put(session, part, FIRST, at, counts)
    _record(session, part, EventVerb.MOVE, stage, at=at, who=who, data={"before": counts})


def _record(
    session: Session,
    part: Part,
    verb: EventVerb,
    was: PartStage,
    *,
    at: datetime,
    who: int | None,
    **more: Any,
) -> None:
    """Add the event of a part that was moved away from the stage `was`."""
    session.add(
        Move(
            job_id=part.job_id,
            part_id=part.id,
            verb=verb,
            from_=was,
            to=part.stage,
            at=at,
            person_id=who,
            **more,
        )
    )
    session.flush()


def plan_of_row(part: Part) -> PartPlan:
    """Return which stages this row's part needs."""
    return PartPlan(strip=part.needs_strip, coats=part.coats, refit=part.needs_refit)


def _target(part: Part, to: PartStage | None) -> PartStage:
    following = next_stage(part.stage, plan_of_row(part), part.coats_done)
    if to is None:
        if following is None:
            raise Refused(Message("This part is finished: it can't move further."))
        return following
    if to is part.stage:
        raise Already(Message("This part is already at “{stage}”.", stage=to))
    if to is following:
        return to
    if following is None:
        raise Refused(Message("This part has already been handed back."))
    raise Refused(
        Message(
            "This part is at “{stage}”. The next station is “{following}”, not “{to}”.",
            stage=part.stage,
            following=following,
            to=to,
        )
    )


def _back_to(part: Part, fault: Fault) -> PartStage:
    target = fault.target(plan_of_row(part))
    if target is part.stage:
        raise Already(Message("This part is already at “{stage}”.", stage=target))
    if part.stage.may_be_reworked and target.is_before(part.stage):
        return target
    raise Refused(
        Message(
            "This part is at “{stage}”. It can't go back to “{to}” from there.",
            stage=part.stage,
            to=target,
        )
    )


def _job_must_allow(
    session: Session, part: Part, target: PartStage, *, allow_while_waiting: bool
) -> None:
    state = session.scalar(_STATE, {"job_id": part.job_id})
    assert state is not None  # a foreign key holds it
    if target is FIRST or allow_while_waiting:
        allowed = state.is_in_house
    elif target is PartStage.GONE:
        allowed = state.is_done
    else:
        allowed = state is JobState.IN_WORK
    if not allowed:
        if state is JobState.RECEIVED:
            refuse_if_open(session, part, FIRST)
        raise Refused(Message("The job is at “{state}”, so you can't move this part.", state=state))


def _put(session: Session, part: Part, to: PartStage, at: datetime, counts: dict[str, int]) -> None:
    done = session.execute(
        sa.update(Part)
        .where(Part.id == part.id, Part.stage == part.stage)
        .values(stage=to, stage_since=at, **counts)
        .execution_options(synchronize_session=False)
    )
    _check_updated_one(done)
    session.refresh(part)


def _check_updated_one(done: sa.engine.Result[Any]) -> None:
    assert isinstance(done, sa.CursorResult)
    if done.rowcount != 1:
        raise Overtaken(Message("Someone else has just changed this. Check it before you go on."))


def _times(verb: EventVerb, at: datetime) -> dict[str, datetime | None]:
    if verb == EventVerb.RECEIVE:
        return {"received_at": at}
    if verb == EventVerb.MAKE_READY:
        return {"ready_at": at, "pickup_at": None}
    if verb == EventVerb.TAKE_BACK:
        return {"ready_at": None}
    if verb == EventVerb.HAND_BACK:
        return {"handed_back_at": at, "link_until": at + LINK_LIVES}
    if verb == EventVerb.HAND_BACK_UNDONE:
        return {"handed_back_at": None, "link_until": None}
    return {}
