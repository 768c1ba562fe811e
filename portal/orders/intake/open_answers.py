"""What an order leaves open: its usual and its longest case, and what would narrow them."""

from dataclasses import dataclass, replace

from portal.craft import open_answers as craft
from portal.craft.appraise import Practice
from portal.craft.messages import Message
from portal.craft.open_answers import Slow
from portal.craft.parts import Declared, PartSet
from portal.orders.intake.defaults import usual_finish, usual_layers
from portal.orders.intake.draft_answers import Step


@dataclass(frozen=True, slots=True)
class Cases:
    """An order as it usually is and as it takes longest; `slow` says what makes the difference."""

    usual: Declared
    longest: Declared
    slow: Slow


@dataclass(frozen=True, slots=True)
class Narrowing:
    """An answer that would make price and date firm, the page that asks it, and of which set."""

    step: Step
    set_key: str
    says: Message


def cases_of(declared: Declared, practice: Practice) -> Cases | None:
    """Return both cases of an order; None where nothing is open."""
    found = frozenset[Slow]().union(*(craft.reasons(one) for one in declared.sets))
    if not found:
        return None
    return Cases(
        usual=replace(declared, sets=tuple(_usual(one, practice) for one in declared.sets)),
        longest=longest_of(declared),
        slow=next(iter(found)) if len(found) == 1 else Slow.SEVERAL,
    )


def longest_of(declared: Declared) -> Declared:
    """Return an order with all that is open as the case that takes longest.

    A colour that is open stays so: its appraisal counts with the one that takes longest to come.
    """
    return replace(declared, sets=tuple(craft.slow_case(one) for one in declared.sets))


def _usual(one: PartSet, practice: Practice) -> PartSet:
    one = craft.usual_case(one, usual_layers(one.kind))
    if one.colour_open:
        return replace(one, finish=usual_finish(one, practice, one.finish))
    return one


_NARROWS = {
    Slow.SIZE: (
        Step.PARTS,
        Message("Tell us the size, and we can narrow the price."),
    ),
    Slow.LAYERS: (
        Step.ON_THEM,
        Message("Tell us the old finish, and we can narrow the price and the date."),
    ),
    Slow.CHROME: (
        Step.ON_THEM,
        Message("Tell us the old finish, or that it isn't chrome, and we can narrow the date."),
    ),
    Slow.COLOUR: (
        Step.FINISH,
        Message("Choose the colour now, and we can narrow the price and the date."),
    ),
}


def narrowing(declared: Declared) -> tuple[Narrowing, ...]:
    """Return what would make price and date firmer, in the order of the pages."""
    return tuple(
        Narrowing(step, one.key, says)
        for slow, (step, says) in _NARROWS.items()
        for one in declared.sets
        if slow in craft.reasons(one)
    )
