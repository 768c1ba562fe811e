"""A works in the middle of its week, made through the verbs, and who may look into it."""

from dataclasses import dataclass, field, replace
from datetime import timedelta
from typing import Any

import sqlalchemy as sa
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from portal.craft.declared import read_declared
from portal.craft.parts import Damage
from portal.orders.counter import bags, check_in, findings, hand_back
from portal.orders.kernel.ledger import account_of
from portal.orders.production import oven, strip_runs
from portal.shop.pricing.differences import Difference
from portal.shop.route import PartStage
from portal.shop.states import PaymentMethod
from portal.store.tables import Job, Part
from tests.cast import sign_in
from tests.factories import (
    PAINTED,
    TWO_COATS,
    WHEELS,
    Booked,
    a_booked_job,
    a_job_at,
    a_job_in_work,
    a_token,
    bring_to,
    last_event_id,
    pass_checks,
)
from tests.page import CheckedClient
from tests.web.walk import Customer

SENSORS = {
    **PAINTED,
    "damage": ["kerb_rash"],
    "fitted": ["tyre", "weights", "valve", "sensor", "centre_cap"],
    "removers": dict.fromkeys(["tyre", "weights", "valve", "sensor", "centre_cap"], "us"),
}
ON_TYRES = {**WHEELS, "fitted": ["tyre", "valve", "centre_cap"], "removers": {}}
COLOUR_OPEN = {
    **WHEELS,
    "finish": {"system": "base_clear", "gloss": "satin", "decide_from_sample": True},
}


STEPS = ("parts", "on-them", "comes-off", "finish", "day", "you", "read-back")


class Browser(CheckedClient):
    """A browser without script that looks at nothing: the tests of this folder do."""

    def open(self, *args: Any, **kwargs: Any) -> TestResponse:
        return FlaskClient.open(self, *args, **kwargs)


def a_browser(app: Any) -> Browser:
    """Open a browser with cookies of its own."""
    app.test_client_class = Browser
    return app.test_client()


@dataclass
class House:
    """The app with its jobs; `customer` and `staff` are browsers without script."""

    app: Any
    clock: Any
    jobs: dict[str, Booked] = field(default_factory=dict)
    runs: dict[str, int] = field(default_factory=dict)
    browsers: dict[str, Browser] = field(default_factory=dict)
    paths: dict[str, str] = field(default_factory=dict)
    walker: Customer | None = None
    reached: int = 0
    staff: Browser = field(init=False)
    anyone: Browser = field(init=False)

    @property
    def unit(self) -> Any:
        return self.app.extensions["unit"]

    def order(self) -> Customer:
        """Begin an order in a browser of its own."""
        return Customer(a_browser(self.app))

    def walked_to(self, step: str) -> Customer:
        """The one order that is walked page by page; later pages may look back at it."""
        if self.walker is None:
            self.walker = self.order()
        if STEPS.index(step) > self.reached:
            self.walker.go_to(STEPS[self.reached])
            self.walker.walk_to(step)
            self.reached = STEPS.index(step)
        self.walker.go_to(step)
        return self.walker

    def ordered_to(self, step: str, **parts: Any) -> Customer:
        """Begin an order and answer the pages before `step` as the shortest way does."""
        return self.order().walk_to(step, **parts)

    def status(self, name: str, more: str = "") -> TestResponse:
        return self.anyone.get(f"/J/{self.jobs[name].token}{more}")

    def desk(self, name: str, more: str = "") -> TestResponse:
        return self.staff.get(f"/counter/job/{self.jobs[name].code}{more}")

    def part(self, name: str, number: int = 1) -> int:
        return self.jobs[name].part_ids[number - 1]


def furnished(app: Any, clock: Any) -> House:
    """Fill the works: jobs in every stage, an oven load, two strip runs, a late job."""
    house = House(app, clock)
    house.anyone = a_browser(app)
    _long_ago(house)
    clock.advance(days=9, hours=2)
    _this_week(house)
    house.staff = sign_in(app, a_browser(app))
    return house


def _long_ago(house: House) -> None:
    unit, jobs = house.unit, house.jobs
    jobs["handed back"] = a_job_at(
        unit, PartStage.BLAST, SENSORS, first_tag=101, bringing="complete"
    )
    pass_checks(unit, jobs["handed back"])
    bring_to(unit, jobs["handed back"], PartStage.DONE)
    bags.add_bag(unit, jobs["handed back"].job_id, "4 sensors, 4 centre caps", who=None)
    hand_back.make_ready(unit, jobs["handed back"].job_id, who=None)
    _give_back(house, jobs["handed back"])
    jobs["late"] = a_job_at(unit, PartStage.BLAST, PAINTED, first_tag=105, name="Kit Hollow")
    jobs["not brought"] = a_booked_job(unit, name="Jo Fennimore")


def _this_week(house: House) -> None:
    unit, jobs = house.unit, house.jobs
    jobs["booked"] = a_booked_job(unit, SENSORS, bringing="complete", name="Ash Wren-Fairbairn")
    jobs["half checked"] = a_booked_job(unit, TWO_COATS, name="Billie Marsh")
    check_in.as_declared(unit, jobs["half checked"].job_id, who=None)
    for tag in ("111", "112"):
        check_in.give_tag(unit, jobs["half checked"].job_id, tag, who=None)
    bags.add_bag(unit, jobs["half checked"].job_id, "4 centre caps", who=None)
    jobs["on tyres"] = a_booked_job(unit, ON_TYRES, bringing="complete", name="Jo Bramble")
    jobs["colour open"] = a_booked_job(unit, COLOUR_OPEN, name="Toni Larkspur")
    jobs["waiting"] = a_booked_job(unit, PAINTED, name="Sasha Quill")
    _raise_a_finding(house, jobs["waiting"])
    check_in.as_declared(unit, jobs["waiting"].job_id, who=None)
    for number in range(121, 125):
        check_in.give_tag(unit, jobs["waiting"].job_id, str(number), who=None)
    _receive(house, jobs["waiting"])
    jobs["called off"] = a_booked_job(unit, name="Alex Thorne")
    _call_off(house, jobs["called off"])
    _on_the_floor(house)
    jobs["ready"] = a_job_at(unit, PartStage.DONE, first_tag=161, name="Noor Abel")
    bags.add_bag(unit, jobs["ready"].job_id, "4 centre caps", who=None)
    hand_back.make_ready(unit, jobs["ready"].job_id, who=None)


def _on_the_floor(house: House) -> None:
    unit, jobs = house.unit, house.jobs
    jobs["in work"] = a_job_at(unit, PartStage.INSPECT, first_tag=131, name="Mika Aldous")
    jobs["second coat"] = a_job_in_work(unit, TWO_COATS, first_tag=135, name="Lou Pennant")
    bring_to(unit, jobs["second coat"], PartStage.CURE)
    oven.start_load(
        unit,
        jobs["second coat"].part_ids,
        set_point_c=180,
        minutes=8,
        once_token=a_token(),
        who=None,
    )
    jobs["to cure"] = a_job_at(unit, PartStage.CURE, first_tag=139, name="Remy Oakes")
    jobs["out"] = a_job_at(unit, PartStage.STRIP, PAINTED, first_tag=143, name="Ellis Grange")
    jobs["gathering"] = a_job_at(unit, PartStage.STRIP, PAINTED, first_tag=147, name="Bo Sallow")
    today = house.clock.now().date()
    for name, tags in (("out", range(143, 147)), ("gathering", range(147, 149))):
        run = strip_runs.open_run(unit, today, today + timedelta(days=2), who=None)
        for tag in tags:
            strip_runs.gather(unit, run, str(tag), who=None)
        if name == "out":
            strip_runs.send(unit, run, who=None)
        house.runs[name] = run


def _raise_a_finding(house: House, job: Booked) -> None:
    with house.unit.read() as session:
        own = read_declared(session.get_one(Job, job.job_id).declared).sets[0]
    arrived = replace(own, damage=(Damage.KERB_RASH,), count=2, note="Kerb rash on two rims.")
    found = Difference(own.key, (2, 3), arrived, note="Kerb rash on two rims.")
    findings.raise_finding(
        house.unit,
        job.job_id,
        found,
        expected_event_id=last_event_id(house.unit, job),
        once_token=a_token(),
        who=None,
    )


def _receive(house: House, job: Booked) -> None:
    check_in.receive(
        house.unit,
        job.job_id,
        expected_event_id=last_event_id(house.unit, job),
        once_token=a_token(),
        who=None,
    )


def _call_off(house: House, job: Booked) -> None:
    from portal.orders.kernel.transitions import move_job

    house.unit.write(
        lambda s: move_job(s, job.job_id, "call_off", at=house.unit.now(), who=None, note="sold")
    )


def _give_back(house: House, job: Booked) -> None:
    with house.unit.read() as session:
        owed = account_of(session, job.job_id).to_pay
        numbers = session.scalars(sa.select(Part.number).where(Part.job_id == job.job_id)).all()
    given = hand_back.HandBack(
        pickup_code=job.pickup_code,
        parts=tuple(numbers),
        bags=("B1",),
        paid_minor=owed.minor,
        how=PaymentMethod.CARD,
    )
    hand_back.hand_back(
        house.unit,
        job.job_id,
        given,
        expected_event_id=last_event_id(house.unit, job),
        once_token=a_token(),
        who=None,
    )
