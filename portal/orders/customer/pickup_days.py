"""The next days on which parts can be collected."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from portal.shop.shop import Shop

PICKUP_DAYS = 4  # so many open days stand on the page
LOOK_AHEAD = 14


@dataclass(frozen=True, slots=True)
class PickupDay:
    """A day on which parts can be collected, with its hours; aware UTC."""

    day: date
    hours: tuple[tuple[datetime, datetime], ...]


def pickup_days(shop: Shop, now: datetime) -> tuple[PickupDay, ...]:
    """Return the next open days with the hours that are left of them."""
    today = shop.week.local(now).date()
    days = (today + timedelta(days=n) for n in range(LOOK_AHEAD))
    found = (PickupDay(day, _still_open(shop, day, now)) for day in days)
    return tuple([one for one in found if one.hours][:PICKUP_DAYS])


def _still_open(shop: Shop, day: date, now: datetime) -> tuple[tuple[datetime, datetime], ...]:
    return tuple(span for span in shop.week.pickup_hours(day) if span[1] > now)
