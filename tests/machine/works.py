"""The machine: any verb for any job at any moment, and what holds after each."""

from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import initialize, invariant, rule

from portal.notices.outbox import deliver_due
from portal.notices.transport import MemoryWire
from portal.orders.counter.today_view import today
from portal.orders.office.retention import GRACE, sweep
from portal.shop.ledger import EntryKind
from portal.shop.states import PaymentMethod
from tests.machine.agreeing import agrees, numbers_have_no_gap, tags_are_on_one_part
from tests.machine.counter import AtTheCounter
from tests.machine.findings import WithFindings
from tests.machine.floor import OnTheFloor
from tests.machine.model import BY_HAND, JobModel
from tests.machine.office import InTheOffice

MANY = 6
NEW = ("told_by_telephone", "books", "a_firm_books")
COUNTED = {
    "is_tagged": 2,
    "moves_on": 3,
    "skips": 2,
    "moves_the_drop_off": 4,
    "is_found": 3,
}
ALONE = ("is_checked", "is_received", "nobody_came", "comes_back", "bakes", "inspects")
WITH_FINDINGS = ("is_answered", "is_withdrawn", "is_begun", "is_sent_back")
OTHERS = ("money", "ends", "goes_home", "is_ready", "time_goes_on", "letters_leave")
OFFICE = ("month_ends", "month_is_paid", "month_is_unpaid", "month_is_cancelled", "is_shut")
# what comes next for a job is done more often and many steps at once, or none would come home
OFTEN = (*("goes_its_way", "goes_home", "money") * 3, *OFFICE)
FAR = 14
LONGER_THAN_GRACE = GRACE + timedelta.resolution
ACTS = (*NEW, *COUNTED, "goes_its_way", *ALONE, *WITH_FINDINGS, *OTHERS, *OFFICE, *OFTEN)
MONEY = ("pay", "pay_more", "refund", "reverse")
WAYS, REDUCTIONS = tuple(PaymentMethod), (EntryKind.DISCOUNT, EntryKind.GOODWILL)


@dataclass(frozen=True)
class Drawn:
    """What is drawn for a verb: a job and numbers of which it takes what it needs."""

    one: JobModel
    number: int
    more: int
    minor: int
    yes: bool


def arguments(verb: str, drawn: Drawn, owed: int) -> tuple[Any, ...]:
    """Return what a verb is called with; a firm pays what is open as often as another sum."""
    one, more, minor, yes = drawn.one, drawn.more, drawn.minor, drawn.yes
    known: dict[str, tuple[Any, ...]] = {
        "told_by_telephone": (1 + minor % 60,),
        "a_firm_books": (1 + minor % 60,),
        "books": (more,),
        "time_goes_on": (1 + minor % 30,),
        "letters_leave": (),
        "money": (one, MONEY[more], minor, WAYS[minor % 3], REDUCTIONS[minor % 2]),
        "ends": (one, "call_off" if yes else "turn_away"),
        "goes_home": (one, yes or more > 0, yes),
        "is_ready": (one, yes),
        "is_answered": (one, yes),
        "is_sent_back": (one, 1 + more % 2, "run" if yes else "adhesion"),
        "goes_its_way": (one, 1 + minor % FAR),
        "month_ends": (),
        "month_is_paid": (owed if yes and owed else minor,),
        "month_is_unpaid": (),
        "month_is_cancelled": (drawn.number,),
        "is_shut": (1 + minor % 9,),
    }
    return known.get(verb, (one, 1 + more % COUNTED[verb]) if verb in COUNTED else (one,))


class Works(AtTheCounter, OnTheFloor, WithFindings, InTheOffice):
    """A works that anybody may press any button of."""

    @initialize(first=st.integers(1, 40), second=st.integers(0, 3))
    def opens(self, first: int, second: int) -> None:
        self.told_by_telephone(first)
        self.books(second)
        self.a_firm_books(first)

    @rule(
        verb=st.sampled_from(ACTS),
        number=st.integers(0, 5),
        more=st.integers(0, 3),
        minor=st.one_of(st.integers(1, 30_000), st.sampled_from([1, 2, 3])),
        yes=st.booleans(),
    )
    def anybody(self, verb: str, number: int, more: int, minor: int, yes: bool) -> None:
        """Do anything with any job, at any moment."""
        if verb in NEW and len(self.models) >= MANY:
            return
        drawn = Drawn(self.models[number % len(self.models)], number, more, minor, yes)
        owed = self.open_of_newest() if verb == "month_is_paid" else 0
        getattr(self, verb)(*arguments(verb, drawn, owed))

    def goes_its_way(self, one: JobModel, steps: int) -> None:
        """Whatever comes next for a job, so that the far ends of its life are reached as well."""
        for _ in range(steps):
            self._next(one)
            agrees(self.unit, one)

    def _next(self, one: JobModel) -> None:
        by_hand = [stage for stage in one.stages.values() if stage in BY_HAND]
        if one.state in ("booked", "not_brought"):
            ways = (not one.checked, self.checks), (not one.may_receive, self._tags_all)
            next((do for open_, do in ways if open_), self._receives)(one)
        elif one.asked:
            self.is_answered(one, True)
        elif one.state == "received":
            self.is_begun(one)
        elif one.state == "in_work" and by_hand:
            which = sum(n for n, stage in one.stages.items() if stage == by_hand[0])
            self._moves(one, which)
        elif one.state == "in_work" and "cure" in one.stages.values():
            self._bakes(one)
        elif one.state == "in_work" and not one.is_done:
            self._inspects(one)
        elif one.state == "in_work":
            self._is_ready(one)
        elif one.state == "ready":
            self.goes_home(one, True, True)

    def time_goes_on(self, hours: int) -> None:
        self.clock.advance(hours=hours)
        self.touched = [one for one in self.models if one.state == "booked"]
        late = [one for one in self.touched if self.is_late(one, LONGER_THAN_GRACE)]
        sweep(self.unit)
        for one in late:
            one.goes("miss")

    def letters_leave(self) -> None:
        self.touched, wire = [], MemoryWire()
        deliver_due(self.unit, wire, mail_from="works@example.com")
        names = [one["Message-ID"] for one in wire.sent]
        assert len(names) == len(set(names))
        assert not self.sent & set(names), "a letter left twice"
        self.sent |= set(names)

    @invariant()
    def all_is_as_it_was_told(self) -> None:
        for one in self.touched:
            agrees(self.unit, one)
        self.touched = []

    def teardown(self) -> None:
        for one in self.models:
            agrees(self.unit, one)
        numbers_have_no_gap(self.unit)
        tags_are_on_one_part(self.unit, self.models)
        today(self.unit)
        type(self).done.update(self.said)
