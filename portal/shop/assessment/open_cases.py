"""What an order leaves open: its usual case and the one that takes longest."""

from dataclasses import dataclass, replace

from portal.craft import open_answers as craft
from portal.craft.appraise import Practice
from portal.craft.open_answers import Slow
from portal.craft.parts import Declared, PartSet
from portal.shop.assessment.defaults import usual_finish, usual_layers


@dataclass(frozen=True, slots=True)
class Cases:
    """An order as it usually is and as it takes longest; `slow` says what makes the difference."""

    usual: Declared
    longest: Declared
    slow: Slow


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
