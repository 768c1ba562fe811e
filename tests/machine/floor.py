"""What the floor does with the parts."""

from portal.orders.counter import hand_back
from portal.orders.kernel.errors import Refusal
from portal.orders.production import floor
from portal.shop.faults import Fault
from portal.shop.route import PartStage
from tests.factories import (
    accept,
    bake,
    pass_checks,
)
from tests.machine.base import Base
from tests.machine.model import BY_HAND, FAULTS, ONWARD, JobModel


class OnTheFloor(Base):
    """The coaters."""

    def moves_on(self, one: JobModel, which: int) -> None:
        self._moves(one, which)

    def _moves(self, one: JobModel, which: int) -> None:
        """One part, or both where they stand together, go to the next station by hand."""
        self.touched = [one]
        picked = [n for n in one.stages if which & n]
        stages = {one.stages[n] for n in picked}
        at = next(iter(stages))
        if len(stages) != 1 or at not in BY_HAND or one.state != "in_work":
            return
        pass_checks(self.unit, one.job)
        ids = [one.job.part_ids[n - 1] for n in picked]
        floor.move_on(self.unit, ids, to=PartStage(ONWARD[at]), who=self.who)
        one.stages |= dict.fromkeys(picked, ONWARD[at])
        self.said["moved on"] += 1

    def skips(self, one: JobModel, which: int) -> None:
        """Nobody skips a station."""
        self.touched, before = [one], self.snapshot()
        to = PartStage.COAT if one.stages[which] != "blast" else PartStage.CURE
        try:
            floor.move_on(self.unit, [one.job.part_ids[which - 1]], to=to, who=self.who)
        except Refusal:
            assert self.snapshot() == before
        else:
            msg = f"a part went from {one.stages[which]} to {to} at {one.state}"
            raise AssertionError(msg)

    def bakes(self, one: JobModel) -> None:
        self._bakes(one)

    def _bakes(self, one: JobModel) -> None:
        self.touched = [one]
        here = [n for n, stage in one.stages.items() if stage == "cure"]
        if here and one.state == "in_work":
            bake(self.unit, [one.job.part_ids[n - 1] for n in here])
            one.stages |= dict.fromkeys(here, "inspect")

    def inspects(self, one: JobModel) -> None:
        self._inspects(one)

    def _inspects(self, one: JobModel) -> None:
        self.touched = [one]
        here = [n for n, stage in one.stages.items() if stage == "inspect"]
        for number in here[:1] if one.state == "in_work" else ():
            # damage that was found late asks for a look, even where the part is coated
            pass_checks(self.unit, one.job)
            accept(self.unit, one.job.part_ids[number - 1])
            one.stages[number] = "done"

    def is_sent_back(self, one: JobModel, which: int, fault: str) -> None:
        """The inspection sends a part to where its fault is put right, if it may bake again."""
        self.touched, before = [one], self.snapshot()
        if one.stages[which] != "inspect" or one.state != "in_work":
            return
        part_id = one.job.part_ids[which - 1]
        try:
            moved = floor.rework(self.unit, part_id, Fault(fault), "seen twice", who=self.who)
        except Refusal:
            assert self.snapshot() == before
            self.said["rework refused"] += 1
        else:
            assert moved.now == FAULTS[fault]
            one.stages[which] = FAULTS[fault]
            self.said["rework"] += 1

    def is_ready(self, one: JobModel, back: bool) -> None:
        self._is_ready(one, back=back)

    def _is_ready(self, one: JobModel, *, back: bool = False) -> None:
        verb, ready = ("take_back", True) if back else ("make_ready", one.is_done)
        more = ("a scratch",) if back else ()
        work = getattr(hand_back, verb)
        if self.attempt(
            one, verb, lambda: work(self.unit, one.job.job_id, *more, who=self.who), ready=ready
        ):
            one.goes(verb)
