"""A walk-in or a caller: staff enter the order on their one page, by what it offers."""

import random
import re
from datetime import timedelta
from typing import Any

from tests.customers import figures
from tests.customers.answers import Answer, Answers, put_right
from tests.customers.booked import Order
from tests.customers.counter import Desk
from tests.customers.forms import Field, Form, blames, main_form
from tests.customers.plans import SetPlan
from tests.customers.watch import Fell, must
from tests.page import words

PAGE = "/counter/new-order"
WALK_IN, CALLER = "walk-in", "caller"
MOST_TRIES = 8
# as people say a colour; what the shop has of it is read off the page
COLOURS = ("7016", "RAL 9005", "9010", "black", "grey", "silver", "bronze", "#383E42", "red")
CALM_AFTER = 3


class Spoken(Answers):
    """What a customer says, and somebody at the counter types."""

    def __init__(self, order: Order) -> None:
        super().__init__(order.plan)
        self.order = order
        self.door = order.plan.door
        # a name may be all that a walk-in leaves
        self.nobody = self.door == WALK_IN and order.plan.likely(0.1)
        self.mail = order.plan.likely(0.5) and not self.nobody

    def _one(self, one: Field, form: Form, of: SetPlan, so_far: dict[str, Any]) -> Answer:
        told: dict[str, Answer] = {
            "when": "here" if self.door == WALK_IN else "later",
            "locale": self.plan.language,
            "tell_by": None,
            "unreachable": ["y"] if self.nobody else [],
            "name": self.plan.name,
            "email": self.plan.email if self.mail else "",
            "phone": "" if self.nobody else self.plan.phone,
        }
        if one.name == "needed_by":
            told[one.name] = self._needed_by()
        if one.name in told:
            return told[one.name]
        if one.kind in ("radio", "select") and not one.values:
            return None
        if one.short == "pick":
            return of.rng.choice(one.values)
        if one.short == "sample":
            return one.values if not self.calm and of.likely(0.08) else []
        if self.calm and one.short in ("sides_open", "on"):
            return [] if one.short == "sides_open" else "tyres"
        return super()._one(one, form, of, so_far)

    def _needed_by(self) -> str:
        """A day by which a caller needs the parts, in time or not, or none."""
        if self.door == WALK_IN or self.order.plan.likely(0.6):
            return ""
        day = self.order.house.clock.now() + timedelta(days=self.order.plan.rng.randint(1, 40))
        return f"{day:%Y-%m-%d}"

    def _near(self, one: Field, of: SetPlan, _so_far: dict[str, Any]) -> Answer:
        # every shop has a black
        return "9005" if self.calm else of.rng.choice(COLOURS)


class NewOrder:
    """Somebody at the counter with an order that is told by word of mouth."""

    def __init__(self, order: Order) -> None:
        self.order = order
        self.desk = Desk(order)
        self.answers = Spoken(order)
        self.given: dict[str, Any] = {}

    def take(self) -> str:
        """Enter the order and take it in; return the path of the customer's page."""
        plan = self.order.plan
        plan.note("door", plan.door)
        self.desk.get(PAGE)
        self._fill()
        for _ in plan.sets[1:]:
            self._press("add")
            self._fill()
        for tries in range(MOST_TRIES):
            if tries == CALM_AFTER:
                self.answers.calm, self.given = True, {}
            self._fill()
            self._press("look")
            self._fill()
            if self._refused():
                plan.note("refused", "over the counter")
                self.answers.calm, self.given = True, {}
                continue
            told = self._read_out()
            self._press("take")
            if self.desk.person.path.endswith("/taken-in"):
                return self._taken(told)
            self._put_right(tries)
        raise Fell(f"the order can't be taken in: {[b.says for b in blames(self.desk.page)]}")

    def _form(self) -> Form:
        form = main_form(self.desk.page)
        if form is None:
            raise Fell("the new order has no form")
        return form

    def _fill(self) -> None:
        """Answer what has no answer yet, or one that is not offered any more."""
        form = self._form()
        for name in list(self.given):
            one = form.fields.get(name)
            if one is None or (one.options and not _offers(one, self.given[name])):
                del self.given[name]
        missing = {name for name in form.fields if name not in self.given}
        self.given |= self.answers.to(form, self.order.plan.sets[0], only=missing)

    def _press(self, do: str) -> None:
        self.desk.person.send(self._form(), self.given, do)

    def _refused(self) -> bool:
        return any(e.get("data-kind") == "stop" for e in self.desk.page.one("aside").iter())

    def _read_out(self) -> tuple[list[int], list[str]]:
        """Return price and days as they stand beside the button."""
        prices = self.desk.page.all(class_="new-price")
        days = self.order.days(
            " ".join(words(e) for e in self.desk.page.all(class_="new-day")), "en"
        )
        return [one for e in prices for one in figures.sums(words(e))], days

    def _put_right(self, tries: int) -> None:
        form = self._form()
        for one in blames(self.desk.page):
            if one.name not in form.fields:
                continue
            if one.name.endswith(("-near", "-pick")):
                self.given[one.name] = "9005"
                self.given.pop(one.name.replace("-near", "-pick"), None)
                continue
            answer = put_right(form, one.name, one.says, self.order.plan, tries)
            if answer is not None:
                self.given[one.name] = answer

    def _taken(self, read_out: tuple[list[int], list[str]]) -> str:
        order, page = self.order, self.desk.page
        links = [a.get("href") or "" for a in page.all("a")]
        path = next(m[1] for one in links if (m := re.match(r"(/J/\w+)/slip", one)))
        facts = " ".join(words(e) for e in page.all("dl", class_="facts"))
        must(read_out[0], "nothing was read out before the order was taken in")
        order.told.price(read_out[0], "what was read out")
        order.told.price(figures.sums(facts)[:1], "the page of what was taken in")
        if not any(one.startswith("sample") for one in self.given):
            order.told.promise(read_out[1][:1], "what was read out")
        return path


def _offers(one: Field, answer: Any) -> bool:
    wanted = answer if isinstance(answer, list) else [answer]
    return set(wanted) <= set(one.values)


def door_of(seed: int) -> str:
    """Return by which way a customer comes: most book by themselves."""
    ways = ("portal", "portal", "portal", WALK_IN, CALLER)
    return random.Random(f"door {seed}").choice(ways)
