"""What differs from what was declared: raised, answered, withdrawn."""

from dataclasses import replace

import sqlalchemy as sa

from portal.craft.declared import read_declared
from portal.craft.parts import Damage
from portal.orders.counter import check_in, finding_answers, findings
from portal.orders.counter.finding_impact import weigh
from portal.orders.kernel.errors import Refusal
from portal.shop.pricing.differences import Difference
from portal.shop.states import AnsweredHow, FindingAnswer
from portal.store.tables import Finding, Job
from tests.machine.base import Base
from tests.machine.model import IN_HOUSE, JobModel


class WithFindings(Base):
    """The counter and the floor find what differs, the customer answers."""

    def is_found(self, one: JobModel, which: int) -> None:
        """Some parts have kerb damage; what it costs is what the customer is told."""
        numbers = tuple(n for n in one.stages if which & n)
        found = self._damaged(one, numbers)
        told: list[int] = []

        def work() -> None:
            told.append(weigh(self.unit, one.job.job_id, found).amount_minor)
            expected = self.event(one)
            press = self.twice(
                lambda token: findings.raise_finding(
                    self.unit,
                    one.job.job_id,
                    found,
                    expected_event_id=expected,
                    once_token=token,
                    who=self.who,
                )
            )
            press()

        # the same damage twice, or on a part that is coated, is refused
        if self.attempt(one, "find", work, ready=None):
            one.differing |= set(numbers)
            newest = self._findings(one)[-1]
            if newest.answer is FindingAnswer.OPEN:
                one.asked[newest.id] = told[0]
                one.state = "waiting" if one.state in IN_HOUSE else one.state
            else:  # within what was told before
                one.purse.price += told[0]

    def is_answered(self, one: JobModel, yes: bool) -> None:
        """The customer says yes or no to the first of what waits: the price told counts."""
        self.touched, before = [one], self.snapshot()
        if not one.asked:
            return
        finding, told = next(iter(one.asked.items()))
        if yes and len(one.asked) > 1:
            return  # alone it may come to another sum than on top of the others
        try:
            finding_answers.answer_finding(
                self.unit,
                one.job.job_id,
                finding,
                accepted=yes,
                how=AnsweredHow.COUNTER,
                who=self.who,
            )
        except Refusal:
            assert self.snapshot() == before
            return
        self.said[f"answered {'yes' if yes else 'no'}"] += 1
        del one.asked[finding]
        one.purse.price += told if yes else 0
        one.declined |= not yes
        self._others_are_weighed_anew(one)
        if one.state == "waiting" and not one.asked:
            one.state = "received" if one.declined else "in_work"

    def is_withdrawn(self, one: JobModel) -> None:
        """It was a mistake: its parts are checked again, and nothing is asked any more."""
        self.touched, before = [one], self.snapshot()
        if not one.asked:
            return
        finding = next(iter(one.asked))
        try:
            findings.withdraw(self.unit, one.job.job_id, finding, who=self.who)
        except Refusal:
            assert self.snapshot() == before
            return
        self.said["withdrawn"] += 1
        del one.asked[finding]
        one.checked = False
        one.differing.clear()
        self._others_are_weighed_anew(one)
        if one.state == "waiting" and not one.asked:
            one.state = "received"

    def is_begun(self, one: JobModel) -> None:
        """Work starts on what was received and has nothing open."""
        if self.attempt(
            one,
            "start",
            lambda: check_in.start(self.unit, one.job.job_id, who=self.who),
            ready=None if not one.asked else False,
        ):
            one.goes("start")
            one.declined = False

    def _damaged(self, one: JobModel, numbers: tuple[int, ...]) -> Difference:
        with self.unit.read() as session:
            own = read_declared(session.get_one(Job, one.job.job_id).declared).sets[0]
        arrived = replace(own, damage=(Damage.KERB_RASH,), count=len(numbers))
        return Difference(own.key, numbers, arrived)

    def _findings(self, one: JobModel) -> list[Finding]:
        query = sa.select(Finding).where(Finding.job_id == one.job.job_id).order_by(Finding.id)
        with self.unit.read() as session:
            return list(session.scalars(query))

    def _others_are_weighed_anew(self, one: JobModel) -> None:
        """What still waits is told with its new sum; the sums are the portal's own."""
        rows = {row.id: row for row in self._findings(one)}
        one.asked = {
            key: rows[key].amount_minor
            for key in one.asked
            if rows[key].answer is FindingAnswer.OPEN
        }
