"""A floor as full as a good week leaves it: sixty mixed jobs, from a seed."""

import random
from datetime import timedelta
from typing import Any

import sqlalchemy as sa

from portal.orders.kernel.unit import UnitOfWork
from portal.shop.moves import JobState
from portal.shop.route import EACH_COAT, ON_THE_FLOOR, PartStage
from portal.store.tables import Job, JobForecast, Part
from tests.databases import scene
from tests.factories import PAINTED, TWO_COATS, WHEELS, Booked, a_job_in_work

COLOURS = (
    *(("R9005-S", "satin"),) * 3,
    ("R7016-S", "satin"),
    ("R3020-G", "gloss"),
    ("R9010-G", "gloss"),
)
# how many jobs of sixty stand at each station
SHARES = {
    PartStage.PREP: 8,
    PartStage.STRIP: 8,
    PartStage.BLAST: 9,
    PartStage.COAT: 12,
    PartStage.CURE: 10,
    PartStage.INSPECT: 8,
    PartStage.REFIT: 3,
    PartStage.DONE: 2,
}
NAMES = ("Ash Sample", "Kim Pattern", "Lou Example", "Sam Model", "Alex Draft-Longername")


@scene
def a_floor_of_sixty(
    unit: UnitOfWork, seed: int = 1, *, parts: int = 0, first_tag: int = 101
) -> tuple[Booked, ...]:
    """Put sixty jobs on the floor, of one to five parts, some of them in pieces, over or late.

    `parts` gives each of them so many.
    """
    chance = random.Random(seed)
    jobs = []
    for stage, count in SHARES.items():
        for _ in range(count):
            sets = _sets(chance, parts)
            job = a_job_in_work(
                unit,
                *sets,
                first_tag=first_tag + sum(len(one.part_ids) for one in jobs),
                name=chance.choice(NAMES),
                dropoff=timedelta(hours=1),
            )
            jobs.append(job)
            _stand_at(unit, job, stage, chance)
    return tuple(jobs)


def _sets(chance: random.Random, parts: int) -> list[dict[str, Any]]:
    base = chance.choice((WHEELS, WHEELS, PAINTED, TWO_COATS))
    one = {**base, "count": chance.choice((4, 4, 4, 4, 2, 1, 5))}
    if parts:
        one["count"] = parts
    if base is not TWO_COATS:
        colour, gloss = chance.choice(COLOURS)
        one["finish"] = {"system": "single", "colour": colour, "gloss": gloss}
    if chance.random() < 0.1:
        one["damage"] = ["kerb_rash"]
    return [one]


def _stand_at(unit: UnitOfWork, job: Booked, stage: PartStage, chance: random.Random) -> None:
    """Put a job where its share says, as many days before or after its promise as may happen."""
    days = chance.choice((-2, -1, 1, 2, 3, 4, 5, 6, 7, 7))
    slips = chance.random() < 0.15
    at = ON_THE_FLOOR.index(stage)
    behind = chance.random() < 0.1 and at > ON_THE_FLOOR.index(EACH_COAT[0])

    def work(session: Any) -> None:
        row = session.get_one(Job, job.job_id)
        row.state = JobState.WAITING if chance.random() < 0.05 else JobState.IN_WORK
        row.promise_at = unit.now() + timedelta(days=days)
        row.rush = chance.random() < 0.05
        session.execute(
            sa.update(Part).where(Part.job_id == job.job_id).values(stage=stage, needs_strip=True)
        )
        if behind:
            session.execute(
                sa.update(Part)
                .where(Part.id == job.part_ids[-1])
                .values(stage=ON_THE_FLOOR[at - 1])
            )
        session.merge(
            JobForecast(
                job_id=job.job_id,
                safe_at=row.promise_at + timedelta(days=1 if slips else -1),
                likely_at=row.promise_at - timedelta(days=1),
                made_at=unit.now(),
            )
        )

    unit.write(work)
