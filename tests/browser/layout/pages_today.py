"""The catalogue's last page: Today with everything on it."""

from datetime import timedelta

from werkzeug.test import TestResponse

from tests.browser.layout.house import House
from tests.browser.layout.pages import state
from tests.busy_day import a_busy_day, promise


@state("today, full", "counter")
def _today_full(house: House) -> TestResponse:
    now = house.clock.now()
    a_busy_day(house.unit, 12, 8)
    for hours, name in enumerate(("in work", "second coat", "out", "ready", "to cure")):
        promise(house.unit, house.jobs[name], now + timedelta(hours=hours))
    return house.staff.get("/counter/today")
