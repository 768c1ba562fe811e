"""A job and its parts move only as the table of moves allows, and every move leaves a row."""

from datetime import timedelta

import pytest
import sqlalchemy as sa

from portal.orders.kernel.errors import Already, Overtaken, Refused, Unknown
from portal.orders.kernel.transitions import move_job, move_part, undo
from portal.shop.faults import Fault
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.store.tables import Job, Move, Part
from tests.readers import refusing
from tests.rows import a_job_row, a_part_row

pytestmark = pytest.mark.postgres

WAY_OF_TWO_COATS = [
    PartStage.PREP, PartStage.STRIP, PartStage.BLAST, PartStage.COAT, PartStage.CURE,
    PartStage.COAT, PartStage.CURE, PartStage.INSPECT, PartStage.REFIT, PartStage.DONE,
]  # fmt: skip


def put(unit, *, state=JobState.BOOKED, **part):
    """One job with one part; returns their ids."""

    def work(session):
        job = a_job_row(session, unit.now(), state=state)
        return job.id, a_part_row(session, job, unit.now(), **part).id

    return unit.write(work)


def job_verb(unit, job_id, verb, **more):
    unit.write(lambda s: move_job(s, job_id, verb, at=unit.now(), who=None, **more))


def step(unit, part_id, **more):
    return unit.write(lambda s: move_part(s, part_id, at=unit.now(), who=None, **more))


def moves(unit):
    with unit.read() as session:
        return session.scalars(sa.select(Move).order_by(Move.id)).all()


def the(unit, kind, row_id):
    with unit.read() as session:
        return session.get(kind, row_id)


def test_a_job_that_was_booked_is_received(unit, clock) -> None:
    job_id, _ = put(unit)
    job_verb(unit, job_id, "receive", note="came early", data={"by": "door"})
    job = the(unit, Job, job_id)
    assert (job.state, job.received_at) == (JobState.RECEIVED, clock.now())
    [row] = moves(unit)
    assert (row.verb, row.from_, row.to, row.note) == (
        "receive", "booked", "received", "came early",
    )  # fmt: skip
    assert row.data == {"by": "door"}


def test_a_job_that_was_received_can_not_be_received_again(unit) -> None:
    job_id, _ = put(unit, state=JobState.RECEIVED)
    with refusing(Already, "Received"):
        job_verb(unit, job_id, "receive")
    assert moves(unit) == []


def test_a_move_that_the_table_does_not_allow_is_refused_with_the_reason(unit) -> None:
    job_id, _ = put(unit)
    with refusing(Refused, "Booked") as told:
        job_verb(unit, job_id, "hand_back")
    assert not isinstance(told.value, Already)


def test_an_unknown_job_is_told_apart(unit) -> None:
    with pytest.raises(Unknown):
        job_verb(unit, 999, "receive")


def test_handing_back_starts_the_last_thirty_days_of_the_link(unit, clock) -> None:
    job_id, _ = put(unit, state=JobState.READY)
    job_verb(unit, job_id, "hand_back")
    assert the(unit, Job, job_id).link_until == clock.now() + timedelta(days=30)


def test_a_part_of_two_coats_goes_its_whole_way(unit) -> None:
    _, part_id = put(unit, state=JobState.IN_WORK, coats=2, needs_strip=True, needs_refit=True)
    assert [step(unit, part_id) for _ in WAY_OF_TWO_COATS] == WAY_OF_TWO_COATS
    assert the(unit, Part, part_id).coats_done == 2
    with pytest.raises(Refused):
        step(unit, part_id)  # it may leave only with its job


def test_a_part_can_not_jump_over_a_stage(unit) -> None:
    _, part_id = put(unit, state=JobState.IN_WORK, stage=PartStage.PREP)
    with refusing(Refused, "next station is “Blast”, not “Cure”"):
        step(unit, part_id, to=PartStage.CURE)


def test_rework_goes_back_to_blast_and_counts(unit) -> None:
    _, part_id = put(unit, state=JobState.IN_WORK, stage=PartStage.INSPECT, coats_done=1)
    assert step(unit, part_id, fault=Fault.ADHESION, note="at the lip") is PartStage.BLAST
    part = the(unit, Part, part_id)
    assert (part.reworks, part.coats_done) == (1, 0)
    assert moves(unit)[-1].verb == "rework"


def test_a_part_waits_while_its_job_waits(unit) -> None:
    _, part_id = put(unit, state=JobState.WAITING, stage=PartStage.PREP)
    with refusing(Refused, "Waiting for the customer"):
        step(unit, part_id)


def test_the_same_scan_counts_once(unit) -> None:
    _, part_id = put(unit, state=JobState.IN_WORK, stage=PartStage.PREP)
    first = step(unit, part_id, scan_id="scan-1")
    second = step(unit, part_id, scan_id="scan-1")
    assert first is second is PartStage.BLAST
    assert len(moves(unit)) == 1


def test_a_part_that_is_there_already_is_told_so(unit) -> None:
    _, part_id = put(unit, state=JobState.IN_WORK, stage=PartStage.COAT)
    with pytest.raises(Already):
        step(unit, part_id, to=PartStage.COAT)


def test_an_undo_puts_everything_back_and_is_written_down(unit, clock) -> None:
    _, part_id = put(unit, state=JobState.IN_WORK, stage=PartStage.CURE, coats=1)
    step(unit, part_id)
    clock.advance(seconds=9)
    back = unit.write(lambda s: undo(s, part_id, at=unit.now(), who=None))
    part = the(unit, Part, part_id)
    assert (back, part.stage, part.coats_done) == (PartStage.CURE, PartStage.CURE, 0)
    move, taken_back = moves(unit)
    assert taken_back.data == {"undoes": move.id}


def test_an_undo_of_a_rework_restores_its_counts(unit) -> None:
    _, part_id = put(unit, state=JobState.IN_WORK, stage=PartStage.DONE, coats_done=1)
    step(unit, part_id, fault=Fault.COLOUR)
    unit.write(lambda s: undo(s, part_id, at=unit.now(), who=None))
    part = the(unit, Part, part_id)
    assert (part.stage, part.reworks, part.coats_done) == (PartStage.DONE, 0, 1)


def test_an_undo_is_too_late_after_a_while_and_works_once(unit, clock) -> None:
    _, part_id = put(unit, state=JobState.IN_WORK, stage=PartStage.PREP)
    step(unit, part_id)
    unit.write(lambda s: undo(s, part_id, at=unit.now(), who=None))
    with refusing(Refused, "nothing"):
        unit.write(lambda s: undo(s, part_id, at=unit.now(), who=None))
    step(unit, part_id)
    clock.advance(seconds=60)
    with refusing(Refused, "too late"):
        unit.write(lambda s: undo(s, part_id, at=unit.now(), who=None))


def test_a_stale_part_in_the_hand_is_overtaken(unit) -> None:
    """The row that a move starts from is named in its update."""
    _, part_id = put(unit, state=JobState.IN_WORK, stage=PartStage.PREP)

    def work(session):
        part = session.get(Part, part_id)
        session.execute(
            sa.update(Part)
            .where(Part.id == part_id)
            .values(stage=PartStage.COAT)
            .execution_options(synchronize_session=False)
        )
        from portal.orders.kernel.transitions import _put

        _put(session, part, PartStage.BLAST, unit.now(), {})

    with pytest.raises(Overtaken):
        unit.write(work)
