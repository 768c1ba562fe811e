"""When and of what customers are told: nothing at night, and nothing that they switched off."""

from datetime import date, datetime, time, timedelta

from portal.craft.messages import Message
from portal.shop.calendar.week import Week
from portal.shop.states import LetterKind

# nobody is woken: common practice
QUIET_FROM, QUIET_UNTIL = time(21), time(8)
# a hundred kilometres are driven in about three days, at 12,000 km a year: common practice
RECHECK_AFTER = timedelta(days=3)
# at which hour of the day before customers are reminded of their drop-off
REMIND_AT = time(10)

# what answers the customer at once, whatever the hour
AT_ONCE = frozenset(
    {
        LetterKind.BOOKED,
        LetterKind.MOVED,
        LetterKind.CALLED_OFF,
        LetterKind.STATUS_LINKS,
        LetterKind.RESUME_LINK,
        LetterKind.QUESTION_ASKED,
        LetterKind.FINISH_CHANGED,
        LetterKind.CONTACT_CHANGED,
    }
)
# what can be switched off, in the order of a job's life, and what goes off with it
CHOICES = (
    LetterKind.BOOKED,
    LetterKind.COMING,
    LetterKind.RECEIVED,
    LetterKind.CHECKED,
    LetterKind.FINDING,
    LetterKind.ON_ITS_WAY,
    LetterKind.NEW_DATE,
    LetterKind.READY,
    LetterKind.NOT_FETCHED,
    LetterKind.HANDED_BACK,
    LetterKind.RECHECK,
    LetterKind.ANSWERED,
)
_WITH = {
    LetterKind.MOVED: LetterKind.BOOKED,
    LetterKind.CALLED_OFF: LetterKind.BOOKED,
    LetterKind.FINISH_CHANGED: LetterKind.BOOKED,
    LetterKind.NOT_BROUGHT: LetterKind.COMING,
    LetterKind.FOUND: LetterKind.FINDING,
    LetterKind.STILL_WAITING: LetterKind.FINDING,
    LetterKind.ON_TIME: LetterKind.NEW_DATE,
    LetterKind.CLOSED: LetterKind.NEW_DATE,
}
# what a choice is called where more goes off with it than its own kind
_TITLES = {
    LetterKind.BOOKED: Message("Booked, and what you change later"),
    LetterKind.COMING: Message("The day before you come, and if you don't come"),
    LetterKind.FINDING: Message("We need your answer, and what was lost is found again"),
    LetterKind.NEW_DATE: Message("New date, and days when we are closed"),
}
# who switched these off is called: work waits for the answer, or they would come to a closed door
CALLED_INSTEAD = frozenset(
    {LetterKind.FINDING, LetterKind.STILL_WAITING, LetterKind.FOUND, LetterKind.CLOSED}
)


def choice_of(kind: LetterKind) -> LetterKind | None:
    """Return the choice under which a kind is switched off; None where it can't be."""
    chosen = _WITH.get(kind, kind)
    return chosen if chosen in CHOICES else None


def title_of(choice: LetterKind) -> Message:
    """Return what a choice is called."""
    return _TITLES.get(choice) or Message(choice.title)


def not_at_night(week: Week, now: datetime, kind: LetterKind) -> datetime:
    """Return when news may leave: now, or in the morning of the works' own clock; aware UTC."""
    there = week.local(now)
    if kind in AT_ONCE or QUIET_UNTIL <= there.time() < QUIET_FROM:
        return now
    day = there.date() if there.time() < QUIET_UNTIL else there.date() + timedelta(days=1)
    return week.moment(day, QUIET_UNTIL)


def reminded_at(week: Week, dropoff_at: datetime) -> datetime:
    """Return when the customer is reminded of a drop-off: the day before it; aware UTC."""
    day: date = week.local(dropoff_at).date() - timedelta(days=1)
    return week.moment(day, REMIND_AT)
