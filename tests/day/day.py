"""One day of the works, drawn from a seed and played through the verbs.

Beside the portal stands a purse for each job and one for the till: plain integers that know nothing
of entries or documents. At the end both must agree, and the running numbers must have no gap.
"""

import random
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field

import sqlalchemy as sa

from portal.craft.declared import read_declared
from portal.orders.counter import (
    cancellation,
    finding_answers,
    hand_back,
    new_order,
    payments,
    unfetched,
)
from portal.orders.counter.hand_back import HandBack
from portal.orders.intake.draft_answers import Contact
from portal.orders.kernel.ledger import account_of
from portal.orders.kernel.unit import UnitOfWork
from portal.orders.office import takings
from portal.orders.office.takings import CountedTill
from portal.shop.invoicing.document import InvoiceKind
from portal.shop.ledger import EntryKind
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.shop.states import PaymentMethod, TellBy
from portal.store.tables import Invoice, Job, Part, Person
from tests.cast import OFFICE, add_staff, is_there
from tests.day import by_the_link, side_work
from tests.factories import WHEELS, a_booked_job, a_job_at, a_job_in_work, a_token, last_event_id
from tests.orders.test_account_adds_up import Purse
from tests.orders.test_findings import painted, raise_it

OPENING = 10_000  # in the till in the morning, in minor units
FORGOTTEN = 400  # days for which nobody came
WAYS = tuple(PaymentMethod)


@dataclass
class Day:
    """A day that is played; `said` counts what happened."""

    unit: UnitOfWork
    advance: Callable[..., object]
    draw: random.Random
    who: int
    purses: dict[int, Purse] = field(default_factory=dict)
    drawer: Counter[PaymentMethod] = field(default_factory=Counter)
    said: Counter[str] = field(default_factory=Counter)
    tagged: int = 0

    def next_tag(self) -> int:
        """Return the first of four tags that nobody wears."""
        self.tagged += 1
        return 97 + 4 * self.tagged

    def account(self, job_id: int):
        with self.unit.read() as session:
            return account_of(session, job_id)

    def open(self, job_id: int) -> Purse:
        """Begin a purse with the price that the job was booked at."""
        return self.purses.setdefault(job_id, Purse(self.account(job_id).price.minor))

    def follow_price(self, job_id: int) -> None:
        """Let the purse know a price that a finding changed; the job's own quote says it."""
        with self.unit.read() as session:
            self.purses[job_id].price = session.get(Job, job_id).total_minor

    def pay(self, job_id: int, minor: int) -> None:
        """Pay, and where it is more than is owed, confirm it."""
        way = self.draw.choice(WAYS)
        more = {"once_token": a_token(), "who": self.who}
        try:
            payments.take_payment(self.unit, job_id, minor, way, **more)
        except payments.AboveOwed:
            self.said["payments asked back"] += 1
            more = {**more, "confirmed_minor": minor}
            payments.take_payment(self.unit, job_id, minor, way, **more)
        self.purses[job_id].received += minor
        self.drawer[way] += minor
        self.said["payments"] += 1

    def put_right(self, job_id: int) -> None:
        """Reverse the last payment."""
        paid = [e for e in self.account(job_id).standing if e.kind is EntryKind.PAYMENT]
        if not paid:
            return
        entry = paid[-1]
        more = {"once_token": a_token(), "who": self.who}
        payments.reverse(self.unit, job_id, entry.id, "typed for another job", **more)
        self.purses[job_id].received += entry.amount.minor
        self.drawer[entry.how] += entry.amount.minor
        self.said["payments reversed"] += 1

    def let_off(self, job_id: int, kind: EntryKind) -> None:
        total = self.account(job_id).total.minor
        if total < 2:
            return
        minor = self.draw.randint(1, total // 2)
        more = {"once_token": a_token(), "who": self.who}
        payments.reduce(self.unit, job_id, kind, minor, "because", **more)
        self.purses[job_id].off += minor
        self.said[f"{kind.value} given"] += 1

    def give_back(self, job_id: int) -> None:
        """Refund whatever stands to the customer's credit."""
        credit = self.account(job_id).credit.minor
        if not credit:
            return
        way = self.draw.choice(self.ways_back(job_id, credit))
        more = {"once_token": a_token(), "who": self.who}
        payments.refund(self.unit, job_id, credit, way, "paid too much", **more)
        self.purses[job_id].returned += credit
        self.drawer[way] -= credit
        self.said["refunds"] += 1

    def ways_back(self, job_id: int, minor: int) -> list[PaymentMethod]:
        """Return how a sum can go back: no cash that is not there, by card what came by card."""
        by_card = self.account(job_id).received_by(PaymentMethod.CARD).minor
        most = {PaymentMethod.CARD: by_card, PaymentMethod.CASH: self.drawer[PaymentMethod.CASH]}
        return [way for way in WAYS if minor <= most.get(way, minor)]

    def end(self, job_id: int) -> None:
        cancellation.call_off(self.unit, job_id, "the car is sold", who=self.who)
        purse = self.purses[job_id]
        purse.price, purse.off = 0, 0
        self.said["cancelled"] += 1

    def hand_over(self, job, *, owing: bool) -> None:
        """Hand a ready job back, paid in full or with a part left open."""
        owed = self.account(job.job_id).to_pay.minor
        minor = owed // 3 if owing else owed
        way = self.draw.choice(WAYS)
        given = HandBack(
            pickup_code=job.pickup_code,
            parts=_numbers(self.unit, job.job_id),
            bags=(),
            paid_minor=minor,
            how=way if minor else None,
            owing_because="pays by transfer" if minor < owed else "",
        )
        hand_back.hand_back(
            self.unit,
            job.job_id,
            given,
            expected_event_id=last_event_id(self.unit, job),
            once_token=a_token(),
            who=self.who,
        )
        self.purses[job.job_id].received += minor
        self.drawer[way] += minor
        self.said["handed back"] += 1


def play(unit: UnitOfWork, advance: Callable[..., object], seed: int, *, size: int) -> Day:
    """Play a day with about `size` customers of each kind."""
    day = Day(unit, advance, random.Random(seed), _office(unit))
    _nobody_came(day)
    _no_show(day)
    ready = [_ready(day) for _ in range(size)]
    booked = [a_booked_job(unit) for _ in range(size)]
    for job in booked:
        day.open(job.job_id)
    for here in (True, False) * size:
        _at_the_counter(day, here=here)
    _findings(day, size)
    for job in booked:
        _money(day, job.job_id)
    side_work.play(unit, day.draw, day.said, day.next_tag, who=day.who)
    by_the_link.play(day, size)
    for job in ready:
        side_work.look_after(unit, day.draw, day.said, job, who=day.who)
        if day.draw.random() < 0.5:
            day.let_off(job.job_id, EntryKind.DISCOUNT)
        day.hand_over(job, owing=day.draw.random() < 0.3)
        _afterwards(day, job.job_id)
    return day


def _nobody_came(day: Day) -> None:
    """A job that was ready long ago ends by the shop's rule; what is owed stays owed."""
    job = _ready(day)
    day.advance(days=FORGOTTEN)
    unfetched.end_unfetched(day.unit, job.job_id, "recycled", who=day.who)
    day.said["ended, nobody came"] += 1


def _no_show(day: Day) -> None:
    """A deposit that was paid ahead, and parts that did not come; it is given back."""
    job = a_booked_job(day.unit)
    day.open(job.job_id)
    day.advance(days=1, hours=2)
    cancellation.mark_no_show(day.unit, job.job_id, who=day.who)
    day.said["no-shows"] += 1
    day.pay(job.job_id, 5_000)
    day.end(job.job_id)
    day.give_back(job.job_id)


def _ready(day: Day):
    job = a_job_at(day.unit, PartStage.DONE, first_tag=day.next_tag())
    day.open(job.job_id)
    hand_back.make_ready(day.unit, job.job_id, who=day.who)
    return job


def _at_the_counter(day: Day, *, here: bool) -> None:
    """A walk-in, or a caller who gets the next free time."""
    count = day.draw.randint(1, 4)
    declared = read_declared({"sets": [{**WHEELS, "count": count}], "bringing": "bare"})
    contact = Contact("Robin Sample", "", "+441632960007", TellBy.PHONE)
    entered = new_order.Entered(declared, contact, here=here)
    seen = new_order.new_order_view(day.unit, entered)
    if not here:
        entered = new_order.Entered(declared, contact, here=False, slot=seen.promise.start)
        seen = new_order.new_order_view(day.unit, entered)
    code = new_order.take_in(
        day.unit,
        entered,
        agreed=seen.agreement,
        confirmed=[one.key for one in seen.assessment.to_confirm],
        once_token=a_token(),
        who=day.who,
    )
    with day.unit.read() as session:
        job_id = session.scalars(sa.select(Job.id).where(Job.code == code)).one()
    assert day.open(job_id).price == seen.assessment.quote.total.minor
    day.said["walk-ins" if here else "callers"] += 1
    _money(day, job_id)


def _findings(day: Day, size: int) -> None:
    """Findings that are answered with yes, with no, and not at all."""
    for number in range(size):
        job = a_job_in_work(day.unit, first_tag=day.next_tag())
        day.open(job.job_id)
        finding = raise_it(day.unit, job, painted(day.unit, job, 1, 2))
        day.said["findings"] += 1
        if number % 3 == 2:
            continue
        finding_answers.answer_finding(
            day.unit,
            job.job_id,
            finding,
            accepted=number % 3 == 0,
            how="counter",
            who=day.who,
        )
        day.follow_price(job.job_id)
        _money(day, job.job_id)


def _money(day: Day, job_id: int) -> None:
    """What a customer pays before the work is done, rightly and wrongly."""
    owed = day.account(job_id).to_pay.minor
    for _ in range(day.draw.randint(0, 3)):
        day.pay(job_id, day.draw.choice([1, owed // 5 + 1, owed + 1, owed * 100 + 1]))
        if day.draw.random() < 0.5:
            day.put_right(job_id)
    if day.draw.random() < 0.3:
        day.let_off(job_id, day.draw.choice([EntryKind.DISCOUNT, EntryKind.GOODWILL]))
    with day.unit.read() as session:
        early = session.get(Job, job_id).state in (JobState.BOOKED, JobState.RECEIVED)
    if early and day.draw.random() < 0.2:
        day.end(job_id)
    if day.draw.random() < 0.7:
        day.give_back(job_id)


def _afterwards(day: Day, job_id: int) -> None:
    """Goodwill after the parts went home, and what is given back for it."""
    if day.draw.random() < 0.4:
        day.let_off(job_id, EntryKind.GOODWILL)
        day.give_back(job_id)


def close(day: Day) -> list[str]:
    """Count everything, close the till, and return what the day came to, line by line.

    Raise AssertionError where a cent appeared or vanished, or a number is missing.
    """
    for job_id, purse in day.purses.items():
        found = day.account(job_id)
        assert found.owed.minor == purse.owed, job_id
        assert found.total.minor == purse.price - purse.off, job_id
        assert (found.paid.minor, found.refunded.minor) == (purse.received, purse.returned)
    here = takings.till(day.unit)
    by_way: Counter[PaymentMethod] = Counter()
    for one in here.sums:
        by_way[one.way] += one.amount
    assert all(by_way[way] == day.drawer[way] for way in WAYS), (by_way, day.drawer)
    number = takings.close_till(
        day.unit,
        CountedTill(opening=OPENING, counted=OPENING + here.taken, banked=0, reason=""),
        expected_taken=here.taken,
        once_token=a_token(),
        who=day.who,
    ) if OPENING + here.taken >= 0 else 0  # fmt: skip
    lines = [f"{what}: {count}" for what, count in sorted(day.said.items())]
    lines += [
        f"taken, {one.way.value} at {one.percent} %: {here.money(one.amount).plain}"
        for one in here.sums
    ]
    owed = sum(max(0, purse.owed) for purse in day.purses.values())
    lines.append(f"owed: {here.money(owed).plain}")
    lines.append(f"till closed: no. {number}")
    return lines + _documents(day)


def _documents(day: Day) -> list[str]:
    """Return how many documents there are of each kind; every series counts without a gap."""
    with day.unit.read() as session:
        rows = session.execute(
            sa.select(Invoice.series, Invoice.count, Invoice.kind).order_by(Invoice.id)
        ).all()
    series: dict[str, list[int]] = {}
    for name, count, _ in rows:
        series.setdefault(name, []).append(count)
    for name, counts in series.items():
        assert counts == list(range(counts[0], counts[0] + len(counts))), f"a gap in {name}"
    kinds = Counter(InvoiceKind(kind) for _, _, kind in rows)
    return [f"{kind.value}: {kinds[kind]}" for kind in InvoiceKind]


def _office(unit: UnitOfWork) -> int:
    if not is_there(unit, OFFICE):
        add_staff(unit)
    with unit.read() as session:
        return session.scalars(sa.select(Person.id).where(Person.login == OFFICE.login)).one()


def _numbers(unit: UnitOfWork, job_id: int) -> tuple[int, ...]:
    with unit.read() as session:
        return tuple(session.scalars(sa.select(Part.number).where(Part.job_id == job_id)))
