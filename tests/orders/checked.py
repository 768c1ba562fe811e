"""What tests of checks share: a result recorded, the lines of a job, the customer's answer."""

import sqlalchemy as sa

from portal.craft.check_kinds import CheckKind
from portal.orders.counter import checks, finding_answers
from portal.orders.kernel.checks import lines_of
from portal.shop.states import AnsweredHow
from portal.store.tables import Finding
from tests.factories import WHEELS, Booked, a_token

OLD = {"original_before_1980": True}
UNKNOWN_METAL = {**WHEELS, "metal": "unknown", "build": "unknown"}
BENT = {**WHEELS, "damage": ["bend"], "damaged": {"bend": 1}}


def record(unit, job: Booked, kind: CheckKind, result: str, part_ids=(), **more):
    return checks.record_check(
        unit, job.job_id, kind, result, part_ids or job.part_ids,
        once_token=a_token(), who=None, **more,
    )  # fmt: skip


def lines(unit, job: Booked):
    with unit.read() as session:
        return {(one.kind, one.number): one for one in lines_of(session, job.job_id)}


def the_finding(unit, job: Booked) -> Finding:
    with unit.read() as session:
        return session.scalars(sa.select(Finding).where(Finding.job_id == job.job_id)).one()


def answer(unit, job: Booked, *, yes: bool) -> None:
    finding_answers.answer_finding(
        unit, job.job_id, the_finding(unit, job).id, accepted=yes,
        how=AnsweredHow.COUNTER, who=None,
    )  # fmt: skip
