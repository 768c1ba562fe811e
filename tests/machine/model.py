"""What a job must be, in plain words and integers: it knows nothing of rows, entries or events.

The table of states is written here once more, by hand: a verb may be done exactly where it says.
"""

from dataclasses import dataclass, field

from tests.factories import Booked
from tests.orders.test_account_adds_up import Purse

EXPECTED = frozenset({"booked", "not_brought"})
IN_HOUSE = frozenset({"received", "waiting", "in_work"})
# verb: from which states, and to which
VERBS: dict[str, tuple[frozenset[str], str]] = {
    "receive": (EXPECTED, "in_work"),
    "miss": (frozenset({"booked"}), "not_brought"),
    "reschedule": (EXPECTED, "booked"),
    "call_off": (EXPECTED | {"received", "waiting"}, "called_off"),
    "turn_away": (frozenset({"received", "waiting"}), "turned_away"),
    "find": (EXPECTED | IN_HOUSE, ""),
    "make_ready": (frozenset({"in_work"}), "ready"),
    "take_back": (frozenset({"ready"}), "in_work"),
    "start": (frozenset({"received", "waiting"}), "in_work"),
    "hand_back": (frozenset({"ready"}), "handed_back"),
    "undo_hand_back": (frozenset({"handed_back"}), "ready"),
}
# where a fault is put right that is found at the inspection
FAULTS = {"run": "coat", "adhesion": "blast"}
# the way of a part that is bare, in one coat
ONWARD = {"prep": "blast", "blast": "coat", "coat": "cure", "cure": "inspect", "inspect": "done"}
BY_HAND = ("prep", "blast", "coat")


@dataclass
class JobModel:
    """One job. `stages` and `tags` are by the number of the part, from 1."""

    job: Booked
    purse: Purse
    state: str = "booked"
    stages: dict[int, str] = field(default_factory=dict)
    tags: dict[int, str] = field(default_factory=dict)
    checked: bool = False
    differing: set[int] = field(default_factory=set)  # parts of which a finding says something
    cornered: bool = False
    placed: bool = False
    before_ready: dict[int, str] = field(default_factory=dict)  # the tags that went home
    paid_at_door: int = 0
    event_ids: list[int] = field(default_factory=list)
    asked: dict[int, int] = field(default_factory=dict)  # findings without an answer, their sums
    declined: bool = False  # somebody said no since work began
    firm_id: int | None = None

    def may(self, verb: str) -> bool:
        """Whether the state allows a verb; what else it needs is asked where it is drawn."""
        return self.state in VERBS[verb][0]

    def goes(self, verb: str) -> None:
        self.state = VERBS[verb][1]

    @property
    def may_receive(self) -> bool | None:
        """Whether all is there; None where findings stand for the look at every part."""
        tagged = len(self.tags) == len(self.stages)
        if tagged and not self.checked and self.differing == set(self.stages):
            return None
        return self.may("receive") and self.checked and self.cornered and tagged

    @property
    def is_done(self) -> bool:
        return set(self.stages.values()) == {"done"}

    def end(self) -> None:
        """An order that ended owes nothing, has no place and no tags."""
        self.purse.price, self.purse.off, self.purse.ended = 0, 0, True
        self.tags.clear()
        self.asked.clear()
        self.placed = False
