"""The portal's own promise, put to the simulated shop: it sees what the real portal would see.

It knows the written times, what stands where since when, who has booked, and what became of its
own promises so far. It learns paces from the shop's records and the margin from its promises.
"""

from collections import defaultdict
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from portal.shop.calendar.hours import DAYS
from portal.shop.calendar.week import Week, Window, read_week
from portal.shop.route import PartStage
from portal.shop.scheduling.calibration import learn_pace, learn_rate, next_margin
from portal.shop.scheduling.forecast import KEPT, JobWork, PartState, look_ahead
from portal.shop.scheduling.promising import Calibration, offers_on
from portal.shop.scheduling.stations import Cure, PartWork, Stations, read_stations
from portal.shop.scheduling.visits import Stay, Visit, timed
from tests.bench.sim_orders import DAY, WEEK, House, Order
from tests.bench.sim_shop import Shop

MONDAY = datetime(2026, 6, 1, 8, 0, tzinfo=UTC)
NOON = 270.0  # working minutes before the break from 12:30 to 13:00
WORK_DAYS = DAYS[:WEEK]
HALVES = {"morning": "08:00-12:30", "afternoon": "13:00-17:30"}
LEARN_EVERY = 200
LAST_RECORDS = 12_000
SEED = 5
KEEP = 0.95


def moment(minutes: float) -> datetime:
    """Return the clock's moment of a working minute of the simulation."""
    day, clock = divmod(minutes, DAY)
    weeks, weekday = divmod(int(day), WEEK)
    pause = 30.0 if clock > NOON else 0.0
    return MONDAY + timedelta(days=7 * weeks + weekday, minutes=clock + pause)


def minutes_of(at: datetime) -> float:
    """Return the working minute of a moment inside working hours."""
    since = at - MONDAY
    clock = (since - timedelta(days=since.days)).total_seconds() / 60
    day = since.days // 7 * WEEK + min(since.days % 7, WEEK)
    return day * DAY + (clock if clock <= NOON else max(NOON, clock - 30.0))


def written_week(house: House) -> Week:
    """Return the shop's week as its books would say it."""
    daily = {day: list(HALVES.values()) for day in WORK_DAYS}
    return read_week(
        {
            "zone": "UTC",
            "work": daily,
            "pickup": daily,
            "drop_off": daily,
            "strip_runs": {
                "days": [DAYS[day] for day in house.run_days],
                "cut_off": f"{moment(house.cut_off):%H:%M}",
                "back_after_days": house.back_days,
                "back_at": f"{moment(house.back_at):%H:%M}",
            },
        }
    )


def written_stations(house: House) -> Stations:
    """Return the stations as its books would say them: with the prior times, pace 1."""
    spread = {"prep": 0.3, "blast": 0.3, "coat": 0.3, "cure": 0.05, "inspect": 0.3, "refit": 0.3}
    body: dict[str, object] = {}
    for key, one in spread.items():
        station: dict[str, object] = {"places": house.places.get(key, 1), "spread": one}
        if house.shift(key) != (0.0, DAY):
            half = HALVES["morning" if house.shift(key)[0] == 0 else "afternoon"]
            station["hours"] = {day: [half] for day in WORK_DAYS}
        body[key] = station
    oven = {"heat_up": house.heat_up, "cool_down": house.cool_down, "fill": 1.0}
    # the load is bounded by mass here: ten kilograms a part
    oven |= {"limit_kg": 10.0 * house.oven_room, "size_mm": [3000, 2000, 2000]}
    shared = {"colour_change": house.colour_change, "rework_rate": 0.01, "strip_late_rate": 0.02}
    return read_stations({**body, "oven": oven, **shared})


def work_of(order: Order, house: House) -> PartWork:
    """Return one part's written work."""
    return PartWork(
        set_key="A",
        minutes={
            PartStage.PREP: order.prep,
            PartStage.BLAST: order.blast,
            PartStage.INSPECT: order.inspect,
            PartStage.REFIT: order.refit,
        },
        coat=order.coat,
        cures=tuple(Cure(*one) for one in order.cures),
        outside_days=house.back_days if order.strip else 0,
        envelope_mm=(100.0, 100.0, 100.0),
        mass_kg=10.0,
    )


class OurPromise:
    """Quotes each order as the portal does, and learns as the portal does."""

    def __init__(self, house: House) -> None:
        self.house = house
        self.week = written_week(house)
        self.written = self.stations = written_stations(house)
        self.margin = Calibration().margin
        self.finished = 0

    def quote(self, shop: Shop, order: Order) -> float:
        """Return the promised moment of an order that arrives now, before any rounding."""
        now = moment(shop.env.now)
        jobs = [self._here(one) for one in shop.open.values()]
        jobs += [self._coming(one, moment(one.arrives)) for one in shop.booked()]
        # the portal places candidates into these replications alone; more would change nothing
        floor = look_ahead(jobs, self.stations, self.week, now, seed=SEED, replications=KEPT)
        offer = offers_on(
            floor,
            self._coming(order, now),
            [Window(now, now, 1)],
            Calibration(margin=self.margin),
        )[0]
        return minutes_of(offer.raw_at)

    def learn(self, shop: Shop, order: Order) -> None:
        """Take notice of a finished order."""
        assert order.done is not None
        self.margin = next_margin(
            self.margin, 1 - KEEP, self.finished, kept=order.done <= order.due
        )
        self.finished += 1
        if self.finished % LEARN_EVERY == 0:
            self.stations = self._learned(shop)

    def _here(self, order: Order) -> JobWork:
        work = work_of(order, self.house)
        parts = tuple(
            PartState(
                work, PartStage(lot.stage), lot.coats_done, moment(lot.since), int(lot.redone)
            )
            for lot in order.lots
            for _ in range(lot.parts)
        )
        return JobWork(order.number, parts, moment(order.arrives), moment(order.due))

    def _coming(self, order: Order, at: datetime) -> JobWork:
        part = PartState(work_of(order, self.house), PartStage.EXPECTED, 0, at)
        return JobWork(order.number, (part,) * order.count, at)

    def _learned(self, shop: Shop) -> Stations:
        stays: dict[str, list[Stay]] = defaultdict(list)
        for one in shop.records[-LAST_RECORDS:]:
            stays[one.key].append(
                Stay(
                    lot=(one.order, str(one.lot)),
                    came=self._own(one.key, one.came),
                    left=self._own(one.key, one.left),
                    left_at=moment(one.left),
                    expected=one.written,
                    colour=one.colour,
                )
            )
        now = moment(shop.env.now)
        timed_visits = {
            key: timed(
                found,
                PartStage(key),
                self.written[PartStage(key)].places,
                colour_change=self.house.colour_change if key == "coat" else 0.0,
            )
            for key, found in stays.items()
        }
        timed_visits["cure"] = [
            Visit(PartStage.CURE, one.minutes, one.written, one.parts, moment(one.at))
            for one in shop.loads[-LAST_RECORDS:]
            if one.at <= shop.env.now
        ]
        stations = self.written
        for key, visits in timed_visits.items():
            station = self.written[PartStage(key)]
            pace = learn_pace(visits, station.spread, now)
            if pace.counts:
                stations = stations.having(replace(station, pace=pace.ratio))
        looked = sum(one.parts for one in shop.records if one.key == "inspect")
        back = sum(one.parts for one in shop.records if one.key == "blast" and one.redone)
        rate = learn_rate(back, looked, self.written.rework_rate)
        return replace(stations, rework_rate=rate.share)

    def _own(self, key: str, minutes: float) -> float:
        """Return a moment on the station's own line of working time."""
        opens, closes = self.house.shift(key)
        day, clock = divmod(minutes, DAY)
        return day * (closes - opens) + min(max(clock - opens, 0.0), closes - opens)
