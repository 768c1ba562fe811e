"""The portal's own promise, put to the simulated shop: it sees what the real portal would see.

It knows the written times, what stands where since when, who has booked, and what became of its
own promises so far. It learns paces from the shop's records, whom to expect from its bookings, and
the margins from its promises.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

from portal.shop.calendar.hours import DAYS
from portal.shop.calendar.week import Week, Window, read_week
from portal.shop.route import PartStage
from portal.shop.scheduling.calibration import learn_pace, learn_rate
from portal.shop.scheduling.expected_bookings import ExpectedBookings, PastBooking, with_prior
from portal.shop.scheduling.forecast import (
    KEPT,
    Floor,
    JobWork,
    PartState,
    read_forecast,
    simulate_floor,
)
from portal.shop.scheduling.margins import (
    Margins,
    PastPromise,
    horizon_of,
    kind_of,
    learn_margins,
)
from portal.shop.scheduling.promising import BELOW_AIM, Calibration, offers_on
from portal.shop.scheduling.stations import Cure, PartWork, Stations, read_stations
from portal.shop.scheduling.visits import Stay, Visit, timed
from tests.bench.sim_orders import DAY, WEEK, House, Order
from tests.bench.sim_shop import Shop

MONDAY = datetime(2026, 6, 1, 8, 0, tzinfo=UTC)
NOON = 270.0  # working minutes before the break from 12:30 to 13:00
WORK_DAYS = DAYS[:WEEK]
HALVES = {"morning": "08:00-12:30", "afternoon": "13:00-17:30"}
REACH = 6 * DAY  # who comes later than this behind a candidate can't matter to it
LEARN_EVERY, MARGINS_EVERY, EXPECT_EVERY = 50, 5, 20
LAST_BOOKINGS = 400
AGREE = 120.0  # two looks so far apart have to agree before a customer is told of another day
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
    usual = {"prep": 10.0, "blast": 17.0, "coat": 1.5, "inspect": 3.0, "refit": 6.0}
    body: dict[str, object] = {}
    for key, one in spread.items():
        station: dict[str, object] = {"places": house.places.get(key, 1), "spread": one}
        station |= {"minutes": usual.get(key, 0.0), "per_m2": 4.0 if key == "coat" else 0.0}
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


@dataclass
class Note:
    """What was said of an order when it was booked: working minutes of the simulation."""

    foreseen: float
    told: float | None = None  # promised by the same engine told of every later customer
    late_since: float | None = None  # since when a look says that it comes on a later day
    changed: bool = False


class OurPromise:
    """Quotes each order as the portal does, and learns as the portal does.

    With `told` it also notes what it would have promised if it had known every later customer.
    """

    def __init__(self, house: House, *, told: bool = False) -> None:
        self.house, self.told = house, told
        self.week = written_week(house)
        self.written = self.stations = written_stations(house)
        self.margins = self.told_margins = Margins()
        self.past: list[PastPromise] = []
        self.told_past: list[PastPromise] = []
        self.notes: dict[int, Note] = {}
        self._works: dict[int, PartWork] = {}
        self._told_foreseen: dict[int, float] = {}
        self._expected: ExpectedBookings | None = None

    def quote(self, shop: Shop, order: Order) -> float:
        """Return the promised moment of an order that is booked now, before any rounding."""
        reach = order.arrives + REACH
        jobs = [self._here(one) for one in shop.open.values()]
        jobs += [self._coming(one) for one in shop.booked.values() if one.arrives <= reach]
        expected = self._expect(shop, moment(reach))
        floor = self._floor(shop, [*jobs, *expected])
        promised, foreseen = self._offer(floor, order, self.margins)
        note = self.notes[order.number] = Note(foreseen)
        if self.told:
            later = [self._coming(one) for one in shop.later(reach) if one is not order]
            clear = self._floor(shop, [*jobs, *later])
            note.told, alone = self._offer(clear, order, self.told_margins)
            self._told_foreseen[order.number] = alone
        self._look(shop, floor)
        return promised

    def learn(self, shop: Shop, order: Order) -> None:
        """Take notice of a finished order."""
        self.past.append(self._became(order, self.notes[order.number].foreseen))
        if self.told:
            self.told_past.append(self._became(order, self._told_foreseen.pop(order.number)))
        now, finished = moment(shop.env.now), len(self.past)
        if finished % MARGINS_EVERY == 0:
            self.margins = learn_margins(self.past, 100 * KEEP, now)
            self.told_margins = learn_margins(self.told_past, 100 * KEEP, now)
        if finished % LEARN_EVERY == 0:
            self.stations = self._learned(shop)

    def _became(self, order: Order, foreseen: float) -> PastPromise:
        assert order.done is not None
        job = self._coming(order)
        horizon = horizon_of((order.arrives - order.booked) / DAY)
        return PastPromise(kind_of(job), horizon, order.done - foreseen, moment(order.done))

    def _floor(self, shop: Shop, jobs: Sequence[JobWork]) -> Floor:
        # the portal places candidates into these replications alone; more would change nothing
        now = moment(shop.env.now)
        stations = self._stations(shop)
        return simulate_floor(jobs, stations, self.week, now, seed=SEED, replications=KEPT)

    def _stations(self, _shop: Shop) -> Stations:
        return self.stations

    def _offer(self, floor: Floor, order: Order, margins: Margins) -> tuple[float, float]:
        at = moment(order.arrives)
        calibration = Calibration(100 * KEEP - BELOW_AIM, margins)
        offer = offers_on(floor, self._coming(order), [Window(at, at, 1)], calibration)[0]
        return minutes_of(offer.raw_at), minutes_of(offer.foreseen.at)

    def _look(self, shop: Shop, floor: Floor) -> None:
        """Note whose promised day has changed, by two looks two working hours apart."""
        now = shop.env.now
        for number, outlook in read_forecast(floor).outlook.items():
            note, order = self.notes[number], shop.open.get(number) or shop.booked[number]
            later = minutes_of(outlook.likely_at) // DAY > order.due // DAY
            if not later:
                note.late_since = None
            elif note.late_since is None:
                note.late_since = now
            elif now - note.late_since >= AGREE:
                note.changed = True

    def _expect(self, shop: Shop, until: datetime) -> tuple[JobWork, ...]:
        if self._expected is None or len(shop.history) % EXPECT_EVERY == 0:
            past = shop.history[-LAST_BOOKINGS:]
            weeks = (shop.env.now - past[0].booked) / (WEEK * DAY)
            record = [
                PastBooking(
                    (self._work(one),) * one.count,
                    moment(one.arrives),
                    moment(one.arrives) - moment(one.booked),
                    weekly=0.0,
                )
                for one in past
            ]
            mixed = with_prior(record, weeks, self.stations, self.week)
            self._expected = ExpectedBookings(mixed, self.week)
        return self._expected.jobs(moment(shop.env.now), until)

    def _work(self, order: Order) -> PartWork:
        if order.number not in self._works:
            self._works[order.number] = work_of(order, self.house)
        return self._works[order.number]

    def _here(self, order: Order) -> JobWork:
        work = self._work(order)
        parts = tuple(
            PartState(
                work, PartStage(lot.stage), lot.coats_done, moment(lot.since), int(lot.redone)
            )
            for lot in order.lots
            for _ in range(lot.parts)
        )
        return JobWork(order.number, parts, moment(order.arrives), moment(order.due))

    def _coming(self, order: Order) -> JobWork:
        at = moment(order.arrives)
        part = PartState(self._work(order), PartStage.EXPECTED, 0, at)
        due = moment(order.due) if order.due else None
        return JobWork(order.number, (part,) * order.count, at, due)

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
