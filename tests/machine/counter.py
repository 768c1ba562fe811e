"""What customers and the counter do."""

from datetime import timedelta

import sqlalchemy as sa

from portal.craft.messages import Message
from portal.orders.counter import cancellation, check_in, hand_back
from portal.orders.counter.customer_changes import drop_off_change, move_by_link
from portal.orders.counter.hand_back import HandBack
from portal.orders.counter.hand_back_undo import undo_hand_back
from portal.orders.intake import booking
from portal.orders.intake.draft_view import look
from portal.orders.kernel.errors import Refusal
from portal.orders.kernel.ledger import account_of
from portal.shop.ledger import EntryKind
from portal.shop.states import PaymentMethod
from portal.store.tables import Job, Part
from tests.factories import (
    WHEELS,
    Booked,
    a_booked_job,
    a_token,
    note_corners,
)
from tests.machine.base import Base
from tests.machine.model import JobModel
from tests.orders.test_account_adds_up import take
from tests.orders.test_booking import a_contact, a_draft

PAIR = {**WHEELS, "count": 2}
ORDER = {"bringing": "bare", "sets": [{**PAIR, "key": "A"}]}
NOTHING_FREE = Message("Nothing is free.")


class AtTheCounter(Base):
    """Customers, and the people at the counter."""

    def told_by_telephone(self, hours: int) -> JobModel:
        dropoff = timedelta(hours=hours)
        return self.new(a_booked_job(self.unit, PAIR, dropoff=dropoff), placed=False)

    def books(self, slot: int) -> JobModel:
        self.customers += 1
        contact = a_contact(self.customers)
        token = a_draft(self.unit, ORDER, slot=slot, contact=contact)
        seen = look(self.unit, token)
        keys = [one.key for one in seen.to_confirm]
        agreed = booking.agreement(seen)
        press = a_token()
        links = {
            booking.book(self.unit, token, once_token=press, agreed=agreed, confirmed=keys)
            for _ in range(2)
        }
        assert len(links) == 1
        with self.unit.read() as session:
            job = session.scalars(sa.select(Job).where(Job.token.in_(links))).one()
            parts = session.scalars(sa.select(Part.id).where(Part.job_id == job.id))
            found = Booked(job.id, job.code, job.token, job.pickup_code, tuple(sorted(parts)))
        return self.new(found, placed=True)

    def moves_the_drop_off(self, one: JobModel, number: int) -> None:
        def work() -> None:
            seen = drop_off_change(self.unit, one.job.token)
            if not seen.free:
                raise Refusal(NOTHING_FREE)
            free = seen.free[number % len(seen.free)]
            move_by_link(
                self.unit,
                one.job.token,
                free.offer.start,
                agreed=free.agreement,
                expected_event_id=seen.last_event_id,
                once_token=a_token(),
            )

        if self.attempt(one, "reschedule", work, ready=None):
            one.goes("reschedule")
            one.placed = True

    def is_checked(self, one: JobModel) -> None:
        self.checks(one)

    def checks(self, one: JobModel) -> None:
        """Everything came as declared, and where the wheels sat is noted."""
        self.touched = [one]
        if one.state in ("booked", "not_brought") and not one.checked:
            check_in.as_declared(self.unit, one.job.job_id, who=self.who)
            note_corners(self.unit, one.job)
            one.checked = one.cornered = True

    def is_tagged(self, one: JobModel, how_many: int) -> None:
        self._tags(one, how_many)

    def _tags_all(self, one: JobModel) -> None:
        self._tags(one, 2)

    def _tags(self, one: JobModel, how_many: int) -> None:
        self.touched = [one]
        bare = [number for number in one.stages if number not in one.tags]
        worn = {tag for other in self.models for tag in other.tags.values()}
        for number in bare[:how_many] if one.state in ("booked", "not_brought") else ():
            tag = next(str(n) for n in range(101, 400) if str(n) not in worn)
            check_in.give_tag(self.unit, one.job.job_id, tag, part_number=number, who=self.who)
            one.tags[number] = tag
            worn.add(tag)

    def is_received(self, one: JobModel) -> None:
        self._receives(one)

    def _receives(self, one: JobModel) -> None:
        expected = self.event(one)
        press = self.twice(
            lambda token: check_in.receive(
                self.unit,
                one.job.job_id,
                expected_event_id=expected,
                once_token=token,
                who=self.who,
            )
        )
        if self.attempt(one, "receive", press, ready=one.may_receive):
            one.state = "waiting" if one.asked else "in_work"
            one.declined = one.declined and bool(one.asked)
            one.stages = dict.fromkeys(one.stages, "prep")

    def nobody_came(self, one: JobModel) -> None:
        late = self.is_late(one, timedelta())
        work = lambda: cancellation.mark_no_show(self.unit, one.job.job_id, who=self.who)  # noqa: E731
        if self.attempt(one, "miss", work, ready=late):
            one.goes("miss")

    def ends(self, one: JobModel, verb: str) -> None:
        end = getattr(cancellation, verb)
        if self.attempt(one, verb, lambda: end(self.unit, one.job.job_id, "sold", who=self.who)):
            one.goes(verb)
            one.end()

    def money(
        self, one: JobModel, verb: str, number: int, way: PaymentMethod, off: EntryKind
    ) -> None:
        self.touched, before = [one], self.snapshot()
        with self.unit.read() as session:
            if verb == "reverse" and not account_of(session, one.job.job_id).entries:
                return
        try:
            if verb == "pay_more" and number % 3 == 0:
                verb = "reduce"
            step = (verb, number, off if verb == "reduce" else way)
            take(self.unit, one.job.job_id, self.who, one.purse, step)
        except Refusal:
            assert self.snapshot() == before
        else:
            self.said[verb] += 1

    def goes_home(self, one: JobModel, with_code: bool, pays: bool) -> None:
        owed = max(0, one.purse.owed)
        paid = owed if pays else 0
        given = HandBack(
            pickup_code=one.job.pickup_code if with_code else "000000",
            parts=tuple(one.stages),
            bags=(),
            paid_minor=paid,
            how=PaymentMethod.CASH if paid else None,
            owing_because="pays by transfer" if paid < owed else "",
        )
        expected = self.event(one)
        press = self.twice(
            lambda token: hand_back.hand_back(
                self.unit,
                one.job.job_id,
                given,
                expected_event_id=expected,
                once_token=token,
                who=self.who,
            )
        )
        if self.attempt(one, "hand_back", press, ready=with_code):
            one.goes("hand_back")
            one.purse.received += paid
            one.paid_at_door = paid
            one.before_ready, one.tags = one.tags, {}
            one.stages = dict.fromkeys(one.stages, "gone")

    def comes_back(self, one: JobModel) -> None:
        """A hand-back was a mistake: tags that nobody took meanwhile are on again."""
        stood = self.door_payment_stands(one)

        def work() -> None:
            undo_hand_back(self.unit, one.job.job_id, "wrong", who=self.who, office=True)

        if self.attempt(one, "undo_hand_back", work):
            one.goes("undo_hand_back")
            one.purse.received -= one.paid_at_door if stood else 0
            worn = {tag for other in self.models for tag in other.tags.values()}
            one.tags = {n: tag for n, tag in one.before_ready.items() if tag not in worn}
            one.stages = dict.fromkeys(one.stages, "done")
