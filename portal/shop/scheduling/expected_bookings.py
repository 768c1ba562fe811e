"""Who has not booked yet: the customers that the shop's own record lets us expect.

Each booking of the record stands for those who will book alike: on the same weekday, at the same
hour, with the same parts, equally long before they come. Of the customers of a day to come those
have booked already who book longer before it than it lies ahead, so the others are still to be
expected (independent thinning: the bookings of a day that were made and those that were not are
independent of each other when they come singly and at random; Kingman 1993, Poisson Processes,
ch. 5; from memory).
"""

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import cache

from portal.shop.calendar.week import Week
from portal.shop.calendar.working_minutes import minutes_a_week
from portal.shop.route import PartStage
from portal.shop.scheduling.lots import JobWork, PartState
from portal.shop.scheduling.station import Station, Stations
from portal.shop.scheduling.stations import TIMED, Cure, PartWork

WEEKS_OF_PRIOR = 3.0  # weeks of record that the prior is worth
PRIOR_LOAD = 0.7  # how busy a shop without a record makes its busiest station; common practice
# parts of an order, how large each is beside a usual one, and the share of such orders: a shop for
# wheels; common practice
PRIOR_MIX = ((1, 1.0, 0.11), (2, 1.0, 0.17), (4, 1.0, 0.57), (8, 1.0, 0.07), (24, 0.3, 0.08))
PRIOR_AHEAD = (0.0, 1.0, 3.0, 5.0, 9.0)  # days before, each as often; common practice
GOLDEN = (math.sqrt(5) - 1) / 2
FIRST_NUMBER = -1_000_000  # no job has a negative number


@dataclass(frozen=True, slots=True)
class PastBooking:
    """One booking as a pattern of those to come: what, when, and how long before.

    `weekly` is how many such bookings are expected a week.
    """

    works: tuple[PartWork, ...]
    comes_at: datetime
    ahead: timedelta
    weekly: float
    rush: bool = False


class ExpectedBookings:
    """What a shop expects of those who have not booked yet, by weekday.

    The same day expects the same jobs whenever it is asked, but for those that would have booked
    by then, so that a forecast does not jitter.
    """

    def __init__(self, record: Sequence[PastBooking], week: Week) -> None:
        self.week = week
        by_weekday: dict[int, list[PastBooking]] = defaultdict(list)
        for one in record:
            by_weekday[week.local(one.comes_at).weekday()].append(one)
        self._by_weekday = {
            day: sorted(some, key=lambda one: (one.ahead, one.comes_at))
            for day, some in by_weekday.items()
        }
        self._on = cache(self._drawn_on)

    def jobs(self, now: datetime, until: datetime) -> tuple[JobWork, ...]:
        """Return the jobs expected between `now` and `until` that nobody has booked yet.

        Each stands for one job in the mean; a replication draws how many it really is.
        """
        days = _days(self.week.local(now).date(), self.week.local(until).date())
        return tuple(
            job
            for day in days
            for ahead, job in self._on(day)
            if now < job.arrives_at <= until and ahead <= job.arrives_at - now
        )

    def _drawn_on(self, day: date) -> list[tuple[timedelta, JobWork]]:
        """Return everybody who is expected on a day, and how long before each books."""
        number = FIRST_NUMBER - 1_000 * day.toordinal()
        drawn = _drawn(self._by_weekday.get(day.weekday(), ()), day)
        is_open = self.week.is_working_day(day)
        return [
            (one.ahead, self._job(one, day, number - n))
            for n, one in enumerate(drawn if is_open else ())
        ]

    def _job(self, one: PastBooking, day: date, number: int) -> JobWork:
        at = self.week.moment(day, self.week.local(one.comes_at).time())
        parts = tuple(PartState(work, PartStage.EXPECTED, 0, at) for work in one.works)
        return JobWork(number, parts, at, rush=one.rush, booked=False)


def with_prior(
    record: Sequence[PastBooking], weeks: float, stations: Stations, week: Week
) -> tuple[PastBooking, ...]:
    """Return the bookings of `weeks` weeks, mixed with those that any shop may expect."""
    whole = weeks + WEEKS_OF_PRIOR
    own = [replace(one, weekly=1 / whole) for one in record]
    share = WEEKS_OF_PRIOR / whole
    prior = [replace(one, weekly=one.weekly * share) for one in _prior(stations, week)]
    return (*own, *prior)


def _days(first: date, last: date) -> Iterator[date]:
    return (first + timedelta(days=n) for n in range((last - first).days + 1))


def _drawn(some: Sequence[PastBooking], day: date) -> Iterator[PastBooking]:
    """Draw as many bookings of one day as are expected, spread evenly over how early they come.

    Systematic sampling, its start moving on by the golden section from day to day, so that few
    days already show the mean.
    """
    reached, wanted = 0.0, day.toordinal() * GOLDEN % 1.0
    for one in some:
        reached += one.weekly
        while reached > wanted:
            yield one
            wanted += 1.0


def _prior(stations: Stations, week: Week) -> Iterator[PastBooking]:
    """Yield the bookings of a usual week, so many that the busiest station has its prior load."""
    monday = date(2024, 1, 1)
    days = [day for day in _days(monday, monday + timedelta(days=6)) if week.work[day.weekday()]]
    orders = [((_usual(stations, size),) * count, share) for count, size, share in PRIOR_MIX]
    weekly = _bearable(stations, week, orders)
    for works, share in orders:
        for day in days:
            opens = week.work[day.weekday()][0].opens
            for ahead in PRIOR_AHEAD:
                yield PastBooking(
                    works,
                    week.moment(day, opens) + timedelta(hours=1),
                    timedelta(days=ahead),
                    weekly * share / len(days) / len(PRIOR_AHEAD),
                )


def _usual(stations: Stations, size: float) -> PartWork:
    """Return the work of a part `size` times as large as a usual one of half a square metre."""

    def minutes(one: Station) -> float:
        return size * (one.minutes + one.per_m2 / 2)

    booth = next(one for one in stations.by_key if one.key.uses_powder)
    return PartWork(
        set_key="expected",
        minutes={key: minutes(stations[key]) for key in TIMED},
        coat=(minutes(booth),),
        cures=(Cure(180, 15.0, ""),),
        envelope_mm=(500.0, 500.0, 250.0),
        mass_kg=10.0 * size,
    )


def _bearable(
    stations: Stations, week: Week, orders: Sequence[tuple[tuple[PartWork, ...], float]]
) -> float:
    """Return how many orders a week bring the busiest station to its prior load."""
    most = math.inf
    for one in stations.by_key:
        opened = minutes_a_week(one.hours or week.work)
        asked = sum(
            share * len(works) * works[0].minutes_at(one.key, 0, one) * one.pace
            for works, share in orders
            if not one.key.is_batch
        )
        if asked > 0:
            most = min(most, PRIOR_LOAD * opened * one.places / asked)
    return most if most < math.inf else 0.0
