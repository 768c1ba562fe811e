"""The next things to do on the floor, the most pressing first, whatever their station."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import IntEnum

from portal.orders.production.bunches import Batches, Bunch, OpenRun, RunningLoad
from portal.orders.production.groups import Column, Group
from portal.shop.calendar.week import Week
from portal.shop.moves import JobState
from portal.shop.states import RunState

MOST = 10
# a load that comes out so soon is the next thing to do
SOON = timedelta(minutes=10)


class Why(IntEnum):
    """What makes a thing the next one, in the order in which it presses."""

    RUSTS = 1  # bare metal is at its limit, or near it
    DUE = 2  # an oven load or a strip run is due by the clock
    OVERDUE = 3
    WILL_BE_LATE = 4
    TODAY = 5  # promised for today
    PROMISED = 6


@dataclass(frozen=True, slots=True)
class NextThing:
    """One thing to do: a bunch at a station, an oven load that is due, or a strip run.

    `by` is the moment that it hangs on; `first` the group that makes it press.
    """

    why: Why
    by: datetime
    bunch: Bunch | None = None
    first: Group | None = None
    load: RunningLoad | None = None
    run: OpenRun | None = None

    @property
    def more(self) -> int:
        """How many sets like the first can go with it."""
        return len(self.bunch.groups) - 1 if self.bunch else 0


def next_up(
    columns: Sequence[tuple[Column, Sequence[Bunch]]],
    under_way: Batches,
    week: Week,
    now: datetime,
) -> tuple[NextThing, ...]:
    """Return the next things to do, at most `MOST`."""
    found = [
        *_loads_due(under_way, now),
        *_runs_due(under_way, week, now),
        *_sets(columns, week, now),
    ]
    return tuple(sorted(found, key=lambda one: (one.why, one.by))[:MOST])


def _loads_due(under_way: Batches, now: datetime) -> Iterator[NextThing]:
    for load in under_way.loads.values():
        if load.out_at <= now + SOON:
            yield NextThing(Why.DUE, load.out_at, load=load)


def _runs_due(under_way: Batches, week: Week, now: datetime) -> Iterator[NextThing]:
    today = week.local(now).date()
    for run in under_way.runs.values():
        due = run.leaves_on if run.state is RunState.GATHERING else run.back_on
        if due <= today:
            yield NextThing(Why.DUE, now, run=run)


def _sets(
    columns: Sequence[tuple[Column, Sequence[Bunch]]], week: Week, now: datetime
) -> Iterator[NextThing]:
    for column, bunches in columns:
        if not column.stage.is_station:
            continue
        for bunch in bunches:
            if bunch.load or bunch.run:
                continue  # it is the load or the run that is due
            free = [one for one in bunch.groups if one.state is not JobState.WAITING]
            if bunch.coat or bunch.cure:
                # what is coated or baked alike is one thing to do
                ways = [_pressing(one, week, now) for one in free]
                if ways:
                    why, by, first = min(ways, key=lambda one: one[:2])
                    yield NextThing(why, by, Bunch((*free,), bunch.coat, bunch.cure), first)
            else:
                for one in free:
                    why, by, first = _pressing(one, week, now)
                    yield NextThing(why, by, Bunch((one,)), first)


def _pressing(one: Group, week: Week, now: datetime) -> tuple[Why, datetime, Group]:
    if one.bare and (one.bare.over or one.bare.near):
        return Why.RUSTS, one.bare.until or now, one
    if one.overdue(now):
        return Why.OVERDUE, one.promise_at, one
    if one.late:
        return Why.WILL_BE_LATE, one.promise_at, one
    if week.local(one.promise_at).date() == week.local(now).date():
        return Why.TODAY, one.promise_at, one
    return Why.PROMISED, one.promise_at, one
