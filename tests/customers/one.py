"""One customer from the landing page until his parts are at home again."""

import random
from collections import Counter
from dataclasses import dataclass, field
from traceback import format_exc

from tests.customers import booked, by_the_link, counter, errands, floor, home
from tests.customers.booked import Order
from tests.customers.figures import Told
from tests.customers.house import House, a_day
from tests.customers.intake import Intake
from tests.customers.over_the_counter import WALK_IN, NewOrder, door_of
from tests.customers.person import Person
from tests.customers.plans import Plan, plan
from tests.customers.watch import Fell

WHOLE_RULES = 10  # every so many customers' pages are read by all rules of HTML5
# names of institutions are the same in every language
NAMES = ("Tire and Rim Association",)


@dataclass
class Walked:
    """What became of one customer. `fell` is empty for who got home."""

    seed: int
    met: Counter[str] = field(default_factory=Counter)
    fell: str = ""
    last: tuple[str, ...] = ()


def walk(house: House, seed: int) -> Walked:
    """Let one customer walk all the way."""
    who = plan(seed)
    who.door = door_of(seed)
    if who.door == WALK_IN:
        who.arrival = "as_declared"  # what was declared was in hand
    walked = Walked(seed, who.met)
    house.open_for(seed, a_day(random.Random(f"day {seed}")))
    customer = somebody(house, who)
    try:
        all_the_way(house, who, customer)
    except Fell as fell:
        walked.fell = str(fell)
    except Exception:  # whatever breaks is a fall, and says where
        walked.fell = format_exc(limit=-4)
    walked.last = tuple(customer.seen[-3:])
    return walked


def somebody(house: House, who: Plan) -> Person:
    """Return a customer's browser, with the language and units of his choice."""
    client = house.client()
    client.set_cookie("lang", who.language)
    client.set_cookie("units", who.units)
    with house.unit.read() as session:
        shop = house.unit.shop(session)
    own = (shop.name, *shop.address, shop.handling_note, *(p.name for p in shop.stock.values()))
    paper = shop.invoicing
    own += (paper.bank.other, paper.terms.words, paper.seller.about, paper.seller.no_tax_because)
    allowed = tuple(one for one in (*own, *NAMES, who.name) if one)
    return Person(client, who.language, allowed, quick=who.seed % WHOLE_RULES != 0)


def all_the_way(house: House, who: Plan, customer: Person) -> None:
    """Walk from the landing page to the hand-back."""
    who.note("language", who.language)
    told = Told()
    order = Order(house, who, told, customer, "")
    if who.door == "portal":
        order.path = Intake(house, customer, who, told).walk()
    else:
        order.path = NewOrder(order).take()
    booked.papers(order)
    if who.door == "portal" and who.likely(0.25):
        by_the_link.move(order)
    if who.door == "portal" and random.Random(f"closed {who.seed}").random() < 0.2:
        by_the_link.closed_day(order)
    if who.door == "portal":
        errands.run(order, "booked")
        if random.Random(f"called off {who.seed}").random() < 0.06 and errands.call_off(order):
            return
    desk = counter.arrive(order)
    if who.door == "portal":
        errands.run(order, "brought", most=2)
    done = floor.work(desk)
    home.hand_back(desk, done)
    if who.door == "portal":
        errands.run(order, "at home")
