"""What a closed day does to the dates that people were given."""

from datetime import date, datetime, timedelta

from portal.craft.messages import Message
from portal.shop.calendar.hours import Hours
from portal.shop.calendar.week import Week


def is_open_at(week: Week, hours: Hours, moment: datetime) -> bool:
    """Return whether a moment lies inside of some hours on its day, both ends included."""
    local = week.local(moment)
    clock = local.time()
    return any(span.opens <= clock <= span.closes for span in week.spans(hours, local.date()))


def is_shut_at(week: Week, hours: Hours, moment: datetime) -> bool:
    """Return whether a closure, a holiday or an early end shuts what would be open then.

    A day on which nothing of these hours is left is shut altogether.
    """
    if is_open_at(week, hours, moment):
        return False
    local = week.local(moment)
    usual = hours[local.weekday()]
    would_be = any(span.opens <= local.time() <= span.closes for span in usual)
    return would_be or not week.spans(hours, local.date())


def reason_told(week: Week, moment: datetime) -> Message | None:
    """Return what the works says of a closure; None where it says nothing."""
    why = week.shut_because(week.local(moment).date())
    return why if why is not None and why.values else None


def open_date(week: Week, promised: datetime, today: date) -> datetime:
    """Return the pickup hour to which a promise on a shut day moves.

    It moves by as many working days as the closure takes from it, at its own time of day.
    """
    there = week.local(promised)
    lost, day = 0, there.date()
    while day >= today and not week.is_working_day(day):
        lost += bool(week.work[day.weekday()])
        day -= timedelta(days=1)
    later = week.working_days_after(there.date(), max(1, lost))
    return week.pickup_after(week.moment(later, there.time()))
