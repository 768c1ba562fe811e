"""The free drop-off times, each with the pickup hour that it leads to."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.answers import Appraisal
from portal.orders.kernel.unit import UnitOfWork
from portal.orders.planning.forecasting import read_floor
from portal.shop.assessment.assess import Assessment
from portal.shop.calendar.week import Window
from portal.shop.route import FIRST
from portal.shop.scheduling.forecast import Floor, JobWork, PartState
from portal.shop.scheduling.promising import (
    Calibration,
    Offer,
    bearable,
    offers_on,
    offers_together,
    stay_days,
)
from portal.shop.shop import Shop
from portal.store.tables import Booking

DAYS_OFFERED = 21
NOTICE = timedelta(minutes=45)  # nobody can bring wheels in less
CANDIDATE = 0  # no job has this number


@dataclass(frozen=True, slots=True)
class FreeTimes:
    """The drop-off windows with a free place, and the floor that they lead to, at one moment."""

    shop: Shop
    now: datetime
    windows: tuple[Window, ...]
    floor: Floor
    calibration: Calibration

    def at_once(self) -> "FreeTimes":
        """Return the same floor for parts that are here already: they need no window."""
        return replace(self, windows=(Window(self.now, self.now, 1),))

    def offers(self, order: Assessment) -> tuple[Offer, ...]:
        """Return the windows that the floor bears, with the pickup hour of each.

        Every set of the order must have a size, a finish and no refusal.
        """
        return bearable(self._offers(order, self.windows), self.shop.week)

    def offer(self, order: Assessment, start: datetime | None = None) -> Offer | None:
        """Return what `offers` has for the window that begins at `start`, else its first.

        An offer hangs on the windows up to it alone, unless its parts would stay too long: then
        all have to be looked at.
        """
        starts = [one.start for one in self.windows]
        if not starts or (start and start not in starts):
            return None
        upto = self.windows[: starts.index(start or starts[0]) + 1]
        found, week = self._offers(order, upto)[-1], self.shop.week
        if stay_days([found], week)[0] <= week.drop_off.longest_stay_days:
            return found
        every = self.offers(order)
        if start is None:
            return every[0] if every else None
        return next((one for one in every if one.window.start == start), None)

    def offers_together(
        self, orders: Sequence[Assessment], start: datetime | None = None
    ) -> tuple[Offer, ...]:
        """Return the offer of each of several orders that are dropped off at one time.

        That is the window that begins at `start`, else the first; empty where it isn't free.
        """
        window = next((one for one in self.windows if start in (None, one.start)), None)
        if window is None:
            return ()
        pairs = [
            (
                _candidate(order, self.now),
                _behind_powder([window], order.appraisal, self.shop, self.now)[0],
            )
            for order in orders
        ]
        found = offers_together(self.floor, pairs, self.calibration)
        return tuple(replace(one, window=window) for one in found)

    def _offers(self, order: Assessment, windows: tuple[Window, ...]) -> tuple[Offer, ...]:
        begins = _behind_powder(windows, order.appraisal, self.shop, self.now)
        found = offers_on(self.floor, _candidate(order, self.now), begins, self.calibration)
        return tuple(replace(one, window=at) for one, at in zip(found, windows, strict=True))


def free_times(unit: UnitOfWork, *, without: int = 0, sure: bool = False) -> FreeTimes:
    """Return the free drop-off windows and the floor as they stand.

    `without` is a job that is left out of both: its appointment is about to be moved. With `sure`
    the floor knows everybody who has booked: a date is about to be promised.
    """
    now = unit.now()
    with unit.read() as session:
        shop = unit.shop(session)
        windows = _free_windows(session, shop, now, without)
        source = read_floor(unit, session, sure=sure, without=without)
    return FreeTimes(shop, now, windows, source.make(), source.calibration)


def ready_if_begun_now(unit: UnitOfWork, order: Assessment) -> datetime | None:
    """Return the pickup hour of an order whose parts are here and whose powders are told.

    An order that is booked already stands on the floor as well, so the date is rather too late
    than too early. None where nothing can be foreseen.
    """
    found = free_times(unit).at_once().offer(order)
    return found.ready_at if found else None


def _free_windows(session: Session, shop: Shop, now: datetime, without: int) -> tuple[Window, ...]:
    first = shop.week.local(now).date()
    windows = [w for w in shop.week.windows(first, DAYS_OFFERED) if w.start >= now + NOTICE]
    if not windows:
        return ()
    taken = dict(
        session.execute(
            sa.select(Booking.window_start, sa.func.count())
            .where(Booking.window_start >= windows[0].start, Booking.job_id != without)
            .group_by(Booking.window_start)
        ).all()
    )
    return tuple(w for w in windows if taken.get(w.start, 0) < w.places)


def _candidate(order: Assessment, now: datetime) -> JobWork:
    parts: list[PartState] = []
    for answer in order.sets:
        work = order.work[answer.part_set.key]
        parts += [PartState(work, FIRST, 0, now)] * answer.part_set.count
    return JobWork(CANDIDATE, tuple(parts), now, rush=order.declared.rush)


def _behind_powder(
    windows: Sequence[Window], appraisal: Appraisal, shop: Shop, now: datetime
) -> tuple[Window, ...]:
    """Let the work begin when its powder is here.

    A powder that is known is ordered when the job is booked; one that is chosen from samples at
    drop-off only then. The way ahead of the parts is kept whole behind the powder's day, which is
    later than it may turn out to be; the stripping could go on meanwhile.
    """
    known, chosen = appraisal.powder_days, appraisal.sample_days
    ordered = _at_end_of(shop, shop.week.local(now).date(), known)
    return tuple(
        replace(
            one,
            end=max(one.end, ordered, _at_end_of(shop, shop.week.local(one.start).date(), chosen)),
        )
        for one in windows
    )


def _at_end_of(shop: Shop, day: date, wait_days: int) -> datetime:
    """Return the latest that something comes `wait_days` working days after `day`; aware UTC."""
    if not wait_days:
        return datetime.min.replace(tzinfo=UTC)
    # it may come at any hour of its day
    return shop.week.work_hours(shop.week.working_days_after(day, wait_days))[-1][1]
