"""Plays the demo's week: every job of `jobs.toml` through the use cases that people use, in time.

Nothing is written past a use case, so everything in the demo could have happened at the counter.
"""

import heapq
import itertools
import tomllib
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime, time, timedelta
from functools import partial
from typing import Any

import sqlalchemy as sa

from portal.cli import demo_firm, demo_questions
from portal.cli.demo_floor import DemoFloor
from portal.craft.declared import read_declared
from portal.craft.parts import Declared, Gloss
from portal.orders.counter import cancellation
from portal.orders.intake import booking, draft_view, drafts
from portal.orders.intake.draft_answers import Contact
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.states import TellBy
from portal.store.tables import Job

OPENS, WORKED_HOURS = time(8, 20), 8.5
EVENING = time(19, 40)
INVOICED = -12.5  # working days from today, when the garage had its invoice


class DemoClock:
    """A clock that the story moves forward, and never back."""

    def __init__(self, start: datetime) -> None:
        self._time = start

    def now(self) -> datetime:
        return self._time

    def reach(self, moment: datetime) -> None:
        """Go forward to `moment`."""
        self._time = max(self._time, moment)


@dataclass
class JobEntry:
    """One job as `jobs.toml` tells it."""

    name: str
    phone: str
    declared: Declared
    booked: int
    drop_off: int
    reach: str
    vehicle: str = ""
    finding: str = ""
    finding_adds: str = ""
    tell_by: str = "email"
    garage: bool = False

    @property
    def email(self) -> str:
        """An address that reaches nobody."""
        return self.name.lower().replace(" ", ".") + "@example.com"


@dataclass
class Story:
    """The events still to come, earliest first."""

    unit: UnitOfWork
    clock: DemoClock
    today: datetime
    who: int
    firm_id: int
    events: list[tuple[datetime, int, Callable[[], None]]] = field(default_factory=list)
    count: "itertools.count[int]" = field(default_factory=itertools.count)

    def at(self, moment: datetime, do: Callable[[], None]) -> None:
        """Plan an event; nothing is planned for the future."""
        latest = self.today - timedelta(minutes=2)
        heapq.heappush(self.events, (min(moment, latest), next(self.count), do))

    def run(self) -> None:
        """Run all events, in order of time."""
        while self.events:
            moment, _, do = heapq.heappop(self.events)
            self.clock.reach(moment)
            do()
        self.clock.reach(self.today)


def play(unit: UnitOfWork, clock: DemoClock, jobs_text: str, today: datetime, *, who: int) -> None:
    """Book every job of the file and bring each as far as it says."""
    story = Story(unit, clock, today, who, demo_firm.add_garage(unit, who=who))
    days = _Days(unit, today)
    floor = DemoFloor(unit, who)
    for entry in read_jobs(jobs_text):
        _plan(story, days, floor, entry)
    demo_questions.plan(unit, jobs_text, story.at, days.evening, days.moment, who=who)
    story.at(
        days.moment(INVOICED),
        lambda: demo_firm.issue_months(unit, story.firm_id, who=who),
    )
    story.run()


def read_jobs(text: str) -> list[JobEntry]:
    """Read `jobs.toml`; a job names one of its orders, and may change colour and gloss."""
    data = tomllib.loads(text)
    orders = {name: read_declared(order) for name, order in data["orders"].items()}
    found = []
    for row in data["job"]:
        values: dict[str, Any] = dict(row)
        declared = orders[values.pop("order")]
        own = {k: values.pop(k) for k in ("colour", "gloss") if k in values}
        if "gloss" in own:
            own["gloss"] = Gloss(own["gloss"])
        sets = tuple(
            replace(s, finish=replace(s.finish, **own)) if s.finish else s for s in declared.sets
        )
        declared = replace(declared, sets=sets)
        found.append(JobEntry(declared=declared, **values))
    return found


class _Days:
    """Working days counted from today, at the shop's own hours."""

    def __init__(self, unit: UnitOfWork, today: datetime) -> None:
        with unit.read() as session:
            self._week = unit.shop(session).week
        self.today = today
        here = self._week.local(today).date()
        self._zero = self._week.working_days_after(here, 0)

    def day(self, offset: int) -> Any:
        """Return the working day that is `offset` from today's."""
        if offset >= 0:
            return self._week.working_days_after(self._zero, offset) if offset else self._zero
        day, left = self._zero, -offset
        while left:
            day -= timedelta(days=1)
            left -= self._week.is_working_day(day)
        return day

    def moment(self, at: float) -> datetime:
        """Return the moment `at` working days from today's opening; -1.5 is mid-day."""
        offset = int(at // 1)
        opens = self._week.moment(self.day(offset), OPENS)
        return opens + timedelta(hours=(at - offset) * WORKED_HOURS)

    def worked(self, moment: datetime) -> float:
        """Return the moment of the past as working days from today's opening."""
        offset = self.offset_of(moment)
        gone = moment - self._week.moment(self.day(offset), OPENS)
        if gone < timedelta(0):  # before that day's work: the end of the working day before
            return offset - 0.01
        return offset + min(0.99, gone.total_seconds() / 3600 / WORKED_HOURS)

    def spread(self, first: float, last: float, count: int) -> list[datetime]:
        """Return `count` moments between two, evenly over the hours of work."""
        step = (last - first) / max(1, count - 1)
        return [self.moment(first + step * i) for i in range(count)]

    def offset_of(self, moment: datetime) -> int:
        """Return how many working days from today's a moment of the past lies."""
        day, offset = self._week.local(moment).date(), 0
        while self.day(offset) > day:
            offset -= 1
        return offset

    def evening(self, offset: int) -> datetime:
        """Return the evening of a working day: people book after work."""
        return self._week.moment(self.day(offset), EVENING)

    def passed_today(self) -> float:
        """Return how much of today's work is over, from 0 to 1."""
        gone = (self.today - self._week.moment(self._zero, OPENS)).total_seconds() / 3600
        return max(0.0, min(1.0, gone / WORKED_HOURS))


def _plan(story: Story, days: _Days, floor: DemoFloor, entry: JobEntry) -> None:
    def begin() -> None:
        job_id = (
            _book_garage(story, entry, days) if entry.garage else _book(story.unit, entry, days)
        )
        if entry.reach == "called_off":
            off = partial(cancellation.call_off, story.unit, job_id, "Sold the car", who=None)
            story.at(days.evening(entry.booked + 1), off)
        elif entry.reach == "not_brought":
            missed = partial(cancellation.mark_no_show, story.unit, job_id, who=None)
            story.at(days.moment(entry.drop_off + 0.99), missed)
        elif entry.reach != "booked":
            _plan_work(story, days, floor, entry, job_id)

    story.at(days.evening(entry.booked), begin)


def _plan_work(story: Story, days: _Days, floor: DemoFloor, entry: JobEntry, job_id: int) -> None:
    """Spread the steps of one job over the time from its drop-off until its end, or until now."""
    with story.unit.read() as session:
        job = session.execute(
            sa.select(Job.dropoff_at, Job.promise_at).where(Job.id == job_id)
        ).one()
    steps = floor.steps(job_id, entry.reach, finding=entry.finding, adds=entry.finding_adds)
    arrives = job.dropoff_at + timedelta(minutes=9)
    if entry.reach in {"ready", "handed_back"}:
        # what is finished was finished in time; the hand-back follows the next morning
        until = min(job.promise_at - timedelta(minutes=40), days.moment(entry.drop_off + 3.9))
        count = len(steps) - (entry.reach == "handed_back")
        moments = days.spread(days.worked(arrives), days.worked(until), count)
        # a drop-off on a day without work is taken in there and then
        moments = [arrives, *(max(arrives, one) for one in moments[1:])]
        moments.append(days.moment(days.offset_of(until) + 1.1))
    else:
        first = float(entry.drop_off) + 0.1
        end = max(days.passed_today() - 0.02, first + 0.05)
        share = (end - first) / max(1, len(steps) - 1)
        moments = [max(arrives, days.moment(first + share * i)) for i in range(len(steps))]
        moments[0] = arrives
    for step, moment in zip(steps, moments, strict=False):
        story.at(moment, step)


def _book(unit: UnitOfWork, entry: JobEntry, days: _Days) -> int:
    """Book as the pages do: a draft, its answers, the earliest free time of the day, the button."""
    token = drafts.begin(unit)
    contact = Contact(
        entry.name, entry.email, _e164(entry.phone), TellBy(entry.tell_by), entry.vehicle
    )
    # every set's fittings count as seen once they are saved under these names
    for place in ("parts", *(f"fitted:{s.key}" for s in entry.declared.sets)):
        drafts.save(
            unit, token, place, _version(unit, token),
            lambda a: replace(a, declared=entry.declared, contact=contact),
        )  # fmt: skip
    wanted = days.day(entry.drop_off)
    view = draft_view.look(unit, token)
    local = days._week.local
    offer = next((o for o in view.offers if local(o.start).date() >= wanted), None)
    if offer is None:
        msg = f"{entry.name}: no free drop-off; refused: {[repr(c.says) for c in view.refused]}"
        raise RuntimeError(msg)
    drafts.save(unit, token, "day", view.version, lambda a: replace(a, slot=offer.start))
    view = draft_view.look(unit, token)
    link = booking.book(
        unit,
        token,
        once_token=f"demo-{token}",
        agreed=booking.agreement(view),
        confirmed=[c.key for c in view.to_confirm],
    )
    with unit.read() as session:
        return int(session.scalars(sa.select(Job.id).where(Job.token == link)).one())


def _book_garage(story: Story, entry: JobEntry, days: _Days) -> int:
    wanted = days.day(entry.drop_off)
    return demo_firm.book_for_garage(
        story.unit, story.firm_id, entry.declared, entry.vehicle, wanted, who=story.who
    )


def _version(unit: UnitOfWork, token: str) -> int:
    return draft_view.look(unit, token, times=draft_view.Times.NONE).version


def _e164(phone: str) -> str:
    return "+44" + phone.replace(" ", "").removeprefix("0")
