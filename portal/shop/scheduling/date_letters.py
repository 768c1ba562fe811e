"""When a customer is told of another date: the one rule for it.

A forecast swings; what a customer was told does not. A later date is told when it is later by more
than the shop's setting, after two looks two working hours apart that agree, or at once where
waiting would let somebody drive for nothing; at most once a day. When the promise will hold after
all, that is told in the same way. Whose answer is awaited is reminded of it instead, and for what
was not brought nothing is told.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from enum import StrEnum

from portal.shop.calendar.week import Week
from portal.shop.calendar.working_minutes import minutes_between
from portal.shop.works import DateRules

AGREE = 120.0  # working minutes between two looks that must agree
STEADY = 240.0  # working minutes for which an earlier day must stand before it is told
DRIVE = timedelta(hours=2)  # so long before the told hour somebody may set out; common practice
REMINDERS = 3  # so often is one customer reminded of an open answer
REMIND_AGAIN = timedelta(days=2)


class DateNews(StrEnum):
    """What a customer is written to about."""

    LATER = "later"
    ON_TIME = "on_time"
    REMINDER = "reminder"


@dataclass(frozen=True, slots=True)
class DateWatch:
    """What is remembered of a job between two looks.

    `told_at` is the later date that the customer was told in place of the promise; `late_since` and
    `back_since` since when all looks say that what was told breaks, or that the promise holds after
    all. `early_from` is the day that is told as probable, `early_day` the latest that was foreseen
    since `early_since`. `goes_first` when customers who booked later alone made it late: it is
    worked on before them instead.
    """

    promise_at: datetime | None = None
    told_at: datetime | None = None
    late_since: datetime | None = None
    back_since: datetime | None = None
    told_on: date | None = None
    back_on: date | None = None
    reminded_on: date | None = None
    reminders: int = 0
    early_day: date | None = None
    early_since: datetime | None = None
    early_from: date | None = None
    goes_first: bool = False


@dataclass(frozen=True, slots=True)
class Look:
    """What one forecast says of a job, as pickup hours, and how the job stands.

    It is `here` once its parts were brought, and `awaited` is its customer, whose answer it needs.
    """

    now: datetime
    promise_at: datetime
    likely_at: datetime
    safe_at: datetime
    here: bool = True
    awaited: bool = False


def held_date(watch: DateWatch, look: Look) -> datetime:
    """Return the date on which the customer counts: the later one that was told, or the promise."""
    return watch.told_at or look.promise_at


def is_late(watch: DateWatch, look: Look, rules: DateRules) -> bool:
    """Return whether a job that is here breaks what was told, by more than the shop's setting."""
    held = held_date(watch, look)
    most = held + timedelta(hours=rules.later_than_hours)
    return look.here and look.likely_at > held and look.safe_at > most


def follow(
    watch: DateWatch, look: Look, rules: DateRules, week: Week
) -> tuple[DateWatch, DateNews | None]:
    """Return what is remembered after a look, and what the customer is told, if anything."""
    watch, news = _breaks_or_holds(_of_this_promise(watch, look), look, rules, week)
    hopeful = look.here and not (look.awaited or is_late(watch, look, rules))
    return _earlier_day(watch, look, week, hopeful=hopeful), news


def _breaks_or_holds(
    watch: DateWatch, look: Look, rules: DateRules, week: Week
) -> tuple[DateWatch, DateNews | None]:
    """Return what is remembered of broken and restored dates, and what is told of them."""
    late = is_late(watch, look, rules)
    back = _is_back(watch, look)
    watch = replace(
        watch,
        late_since=(watch.late_since or look.now) if late else None,
        back_since=(watch.back_since or look.now) if back else None,
        reminders=watch.reminders if look.awaited else 0,
    )
    today = week.local(look.now).date()
    if late and _sure(watch.late_since, held_date(watch, look), look.now, week):
        return _remind(watch, today) if look.awaited else _later(watch, look, today)
    if back and watch.back_on != today and _waited(watch.back_since, look.now, week) >= AGREE:
        told = replace(watch, told_at=None, back_since=None, back_on=today)
        return told, DateNews.ON_TIME
    return watch, None


def _of_this_promise(watch: DateWatch, look: Look) -> DateWatch:
    """Return what still counts where the promise is another than at the last look."""
    told = watch.told_at if look.here else None
    if watch.promise_at != look.promise_at:
        told = told if told and told > look.promise_at else None
        watch = replace(watch, promise_at=look.promise_at, late_since=None, back_since=None)
    return replace(watch, told_at=told)


def _is_back(watch: DateWatch, look: Look) -> bool:
    """Return whether a promise that was taken back will hold after all."""
    in_time = look.now < look.promise_at and look.safe_at <= look.promise_at
    return watch.told_at is not None and in_time and not look.awaited


def _waited(since: datetime | None, now: datetime, week: Week) -> float:
    return minutes_between(week, since, now) if since else 0.0


def _sure(since: datetime | None, held: datetime, now: datetime, week: Week) -> bool:
    """Return whether two looks agree, or a second one would come too late for a drive."""
    waited = _waited(since, now, week)
    return waited >= AGREE or waited + minutes_between(week, now, held - DRIVE) < AGREE


def _later(watch: DateWatch, look: Look, today: date) -> tuple[DateWatch, DateNews | None]:
    if watch.told_on == today:
        return watch, None
    told = replace(watch, told_at=look.safe_at, told_on=today, late_since=None, back_since=None)
    return told, DateNews.LATER


def _remind(watch: DateWatch, today: date) -> tuple[DateWatch, DateNews | None]:
    early = watch.reminded_on is not None and today < watch.reminded_on + REMIND_AGAIN
    if early or watch.reminders >= REMINDERS:
        return watch, None
    return replace(watch, reminded_on=today, reminders=watch.reminders + 1), DateNews.REMINDER


def _earlier_day(watch: DateWatch, look: Look, week: Week, *, hopeful: bool) -> DateWatch:
    """Return the memory with the day that is probable, told only while it is steady.

    A later day begins anew; an earlier one changes nothing, so that the day never jumps about.
    """
    day = week.local(look.likely_at).date()
    held = week.local(held_date(watch, look)).date()
    if not hopeful or day >= held:
        return replace(watch, early_day=None, early_since=None, early_from=None)
    if watch.early_day is None or not day <= watch.early_day < held:
        return replace(watch, early_day=day, early_since=look.now, early_from=None)
    steady = watch.early_from or _waited(watch.early_since, look.now, week) >= STEADY
    return replace(watch, early_from=watch.early_day if steady else None)


def made_late_by_others(
    looks: dict[int, Look],
    watches: dict[int, DateWatch],
    rules: DateRules,
    without: Callable[[], dict[int, tuple[datetime, datetime]]],
) -> frozenset[int]:
    """Return the jobs that are late now, were not before, and would not be without later customers.

    `without` gives the likely and the safe pickup hour of each job on a floor without those who
    booked since the last look, or have not booked yet; it is asked only where some job is late.
    """
    fresh = {
        job_id: look
        for job_id, look in looks.items()
        if not watches[job_id].goes_first
        and watches[job_id].late_since is None
        and is_late(watches[job_id], look, rules)
    }
    if not fresh:
        return frozenset()
    alone = without()
    return frozenset(
        job_id
        for job_id, look in fresh.items()
        if job_id in alone and not is_late(watches[job_id], _as_alone(look, alone[job_id]), rules)
    )


def _as_alone(look: Look, hours: tuple[datetime, datetime]) -> Look:
    return replace(look, likely_at=hours[0], safe_at=hours[1])
