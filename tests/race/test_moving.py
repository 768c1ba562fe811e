"""Several people move the same part at the same moment: it moves once, and one row says so."""

import sqlalchemy as sa

from portal.orders.kernel.transitions import move_job, move_part
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.store.tables import Move, Part
from tests.race.crowd import Crowd
from tests.rows import a_job_row, a_part_row

MOVERS = 6


def a_part_in_prep(unit) -> tuple[int, int]:
    def work(session):
        job = a_job_row(session, unit.now(), state=JobState.IN_WORK)
        return job.id, a_part_row(session, job, unit.now(), stage=PartStage.PREP).id

    return unit.write(work)


def move_rows(unit) -> int:
    with unit.read() as session:
        return session.scalar(sa.select(sa.func.count()).select_from(Move))


def test_of_six_who_move_one_part_one_moves_it(unit, database) -> None:
    _, part_id = a_part_in_prep(unit)

    def work(unit, n, together):
        def verb(session):
            session.scalar(sa.select(Part.stage).where(Part.id == part_id))
            together()
            return move_part(session, part_id, to=PartStage.BLAST, at=unit.now(), who=None)

        return unit.write(verb)

    outcome = Crowd(database, MOVERS).run(work)
    assert outcome.answers == [PartStage.BLAST]
    assert outcome.kinds() <= {"Already", "Overtaken"}
    assert len(outcome.errors) == MOVERS - 1
    assert move_rows(unit) == 1


def test_without_the_guard_it_moves_six_times(unit, database) -> None:
    """The control: look first, write later, as careless code would."""
    job_id, part_id = a_part_in_prep(unit)

    def work(unit, n, together):
        with unit.read() as session:
            stage = session.scalar(sa.select(Part.stage).where(Part.id == part_id))
        together()
        if stage is not PartStage.PREP:
            return

        def verb(session):
            session.execute(sa.update(Part).where(Part.id == part_id).values(stage=PartStage.BLAST))
            to = {"from_": stage, "to": PartStage.BLAST}
            session.add(Move(job_id=job_id, part_id=part_id, verb="move", at=unit.now(), **to))

        unit.write(verb)

    outcome = Crowd(database, MOVERS, patience=5).run(work)
    assert outcome.errors == []
    assert move_rows(unit) == MOVERS


def test_the_same_scan_sent_six_times_counts_once(unit, database) -> None:
    _, part_id = a_part_in_prep(unit)

    def work(unit, n, together):
        return unit.write(
            lambda s: move_part(s, part_id, at=unit.now(), who=None, scan_id="scan-7")
        )

    outcome = Crowd(database, MOVERS).run(work)
    assert outcome.answers == [PartStage.BLAST] * MOVERS, outcome.errors
    assert move_rows(unit) == 1


def test_a_job_is_received_once(unit, database) -> None:
    job_id = unit.write(lambda s: a_job_row(s, unit.now()).id)

    def work(unit, n, together):
        unit.write(lambda s: move_job(s, job_id, "receive", at=unit.now(), who=None))

    outcome = Crowd(database, MOVERS).run(work)
    assert len(outcome.answers) == 1
    assert outcome.kinds() <= {"Already", "Overtaken"}
    assert move_rows(unit) == 1
