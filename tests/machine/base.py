"""What every rule of the machine needs: jobs, a look at all that may change, a verb tried."""

from collections import Counter
from collections.abc import Callable
from datetime import timedelta
from typing import Any, ClassVar

import sqlalchemy as sa
from hypothesis.stateful import RuleBasedStateMachine

from portal.orders.kernel.errors import Refusal
from portal.orders.kernel.ledger import account_of
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.calendar.closures import is_shut_at
from portal.shop.verbs import EventVerb
from portal.store.tables import (
    Booking,
    Finding,
    FirmPayment,
    Invoice,
    Job,
    LedgerEntry,
    Letter,
    Move,
    Part,
)
from tests.factories import (
    Booked,
    a_token,
    last_event_id,
)
from tests.machine.model import JobModel
from tests.orders.test_account_adds_up import Purse


def refusal_of(work: Callable[[], object]) -> Refusal | None:
    """Do something; return why it was refused, None where it was done."""
    try:
        work()
    except Refusal as refusal:
        return refusal
    return None


class Base(RuleBasedStateMachine):
    """A works with its jobs and their models; `open_works` gives it a database."""

    open_works: ClassVar[Callable[[], tuple[UnitOfWork, Any, int]]]
    done: ClassVar[Counter[str]]

    def __init__(self) -> None:
        super().__init__()
        self.unit, self.clock, self.who = type(self).open_works()
        self.models: list[JobModel] = []
        self.touched: list[JobModel] = []
        self.said: Counter[str] = Counter()
        self.customers = 0
        self.sent: set[str] = set()

    def new(self, job: Booked, *, placed: bool) -> JobModel:
        with self.unit.read() as session:
            price = account_of(session, job.job_id).price.minor
        stages = dict.fromkeys(range(1, len(job.part_ids) + 1), "expected")
        one = JobModel(job, Purse(price), stages=stages, placed=placed)
        self.models.append(one)
        self.touched = [one]
        return one

    def snapshot(self) -> list[Any]:
        """Return what no refusal may change."""
        with self.unit.read() as session:
            tables = (Move, Letter, Invoice, Booking, Job, Finding, LedgerEntry, FirmPayment)
            counts = [session.scalar(sa.select(sa.func.max(one.id))) for one in tables]
            states = session.execute(sa.select(Job.id, Job.state).order_by(Job.id)).all()
            stages = session.execute(sa.select(Part.id, Part.stage, Part.tag).order_by(Part.id))
            return [*counts, *states, *stages.all()]

    def attempt(
        self,
        one: JobModel,
        verb: str,
        work: Callable[[], object],
        *,
        ready: bool | None = True,
    ) -> bool:
        """Do a verb; it must be refused where the model says so, and change nothing then.

        `ready` is whether all that it needs besides the state is there; None where the model
        doesn't know.
        """
        self.touched, before = [one], self.snapshot()
        refusal = refusal_of(work)
        if refusal is not None:
            assert self.snapshot() == before, f"{verb} was refused and changed something"
            assert not (one.may(verb) and ready), f"{verb} at {one.state}: {refusal}"
            self.said[f"{verb} refused"] += 1
            return False
        assert one.may(verb), f"{verb} was done at {one.state}"
        assert ready is not False, f"{verb} was done too early"
        self.said[verb] += 1
        return True

    def twice(self, press: Callable[[str], object]) -> Callable[[], None]:
        """Return a press that is sent again with its token: the second time changes nothing."""

        def work() -> None:
            token = a_token()
            press(token)
            before = self.snapshot()
            press(token)
            assert self.snapshot() == before, "the second press counted"

        return work

    def event(self, one: JobModel) -> int:
        return last_event_id(self.unit, one.job)

    def is_late(self, one: JobModel, by: timedelta) -> bool:
        with self.unit.read() as session:
            job, week = session.get_one(Job, one.job.job_id), self.unit.shop(session).week
            shut = is_shut_at(week, week.drop_off, job.dropoff_at)
            return self.unit.now() >= job.dropoff_until + by and not shut

    def door_payment_stands(self, one: JobModel) -> bool:
        with self.unit.read() as session:
            query = sa.select(Move.data).where(
                Move.job_id == one.job.job_id, Move.verb == EventVerb.HAND_BACK
            )
            last = session.scalars(query.order_by(Move.id.desc()).limit(1)).first()
            account = account_of(session, one.job.job_id)
        entry = account.entry(int(last["payment"])) if last and last["payment"] else None
        return entry is not None and account.can_reverse(entry)
