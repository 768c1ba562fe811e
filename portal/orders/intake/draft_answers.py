"""What a draft holds: the answers of the seven pages, and how far they reach.

The furthest page that may be entered is derived from the answers, never trusted as a number:
a set that is added late needs its finish before the order goes on.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Annotated, Any

from pydantic import BeforeValidator

from portal.craft import reading
from portal.craft.declared import read_declared
from portal.craft.parts import Declared, PartSet, Titled
from portal.craft.schema import Moment
from portal.shop.states import TellBy


class Step(Titled):
    """One page of the intake, in order."""

    PARTS = "parts", "Parts"
    ON_THEM = "on-them", "Old finish"
    COMES_OFF = "comes-off", "What comes off"
    FINISH = "finish", "Finish"
    DAY = "day", "Day"
    YOU = "you", "Your details"
    READ_BACK = "read-back", "Check your order"

    @property
    def number(self) -> int:
        """The page's number, from 1."""
        return list(Step).index(self) + 1

    @property
    def after(self) -> "Step":
        """The next page; the last is its own next."""
        return list(Step)[min(self.number, len(Step) - 1)]


@dataclass(frozen=True, slots=True)
class Contact:
    """Who the customer is. `phone` is E.164, checked before it gets here."""

    name: str
    email: str
    phone: str
    tell_by: TellBy = TellBy.EMAIL
    vehicle: str = ""


def _declared(body: Any) -> Declared:
    return read_declared(body or {})


@dataclass(frozen=True, slots=True)
class Answers:
    """Everything told so far. `slot` is the start of a drop-off window, in UTC.

    `saved` keeps for each page the version at which it was last changed, so that a page left
    open in another tab is noticed only where it would undo something. `unsent` keeps what stands
    in a page that was not sent yet, as the browser would send it, so that a reload, an empty
    battery or another device loses nothing. `prices` is the number of the price list under which
    a page was last shown and sent, 0 before the first.
    """

    declared: Annotated[Declared, BeforeValidator(_declared)] = field(default_factory=Declared)
    contact: Contact | None = None
    slot: Moment | None = None
    confirmed: tuple[str, ...] = ()
    saved: Mapping[str, int] = field(default_factory=dict)
    unsent: Mapping[str, Mapping[str, list[str]]] = field(default_factory=dict)
    prices: int = 0

    def set_of(self, key: str) -> PartSet | None:
        """The set with this key, if it is still there."""
        return next((s for s in self.declared.sets if s.key == key), None)


def reach(answers: Answers, *, held: Step | None = None) -> Step:
    """Return the furthest page that may be entered; a refusal holds the order at its page."""
    first_open = _first_open(answers)
    return first_open if held is None else min(first_open, held, key=lambda step: step.number)


def _first_open(answers: Answers) -> Step:
    sets = answers.declared.sets
    # an answered page has been saved once; its defaults alone are not an answer
    on_them = bool(sets) and all(s.layers for s in sets)
    if not sets:
        return Step.PARTS
    if not on_them:
        return Step.ON_THEM
    if answers.declared.bringing is None or not all(_told_fitted(s, answers) for s in sets):
        return Step.COMES_OFF
    if not all(s.finish and s.finish.answered for s in sets):
        return Step.FINISH
    if answers.slot is None:
        return Step.DAY
    return Step.READ_BACK if answers.contact else Step.YOU


def _told_fitted(part_set: PartSet, answers: Answers) -> bool:
    """Whether the customer has seen what comes off this very set."""
    return f"fitted:{part_set.key}" in answers.saved


def write_answers(answers: Answers) -> dict[str, Any]:
    """Return the answers as plain JSON."""
    return reading.write(answers)


def read_answers(body: Mapping[str, Any]) -> Answers:
    """Read what `write_answers` wrote; an empty draft is an empty mapping."""
    return reading.read(Answers, body)


def like_an_earlier(new: PartSet, answers: Answers) -> Answers:
    """Add a set to the order, with old finish, fitted things and finish of the last of its kind.

    Damage and note are its own. Without an earlier set of its kind it is added as it stands.
    """
    sets = answers.declared.sets
    earlier = next((one for one in reversed(sets) if one.kind is new.kind), None)
    saved = dict(answers.saved)
    if earlier is not None:
        new = replace(
            new,
            layers=new.layers or earlier.layers,
            fitted=earlier.fitted,
            removers=earlier.removers,
            new_tyres=earlier.new_tyres,
            finish=new.finish or earlier.finish,
        )
        version = saved.get(f"fitted:{earlier.key}")
        if version is not None:
            saved[f"fitted:{new.key}"] = version
    declared = replace(answers.declared, sets=(*sets, new))
    return replace(answers, declared=declared, saved=saved)
