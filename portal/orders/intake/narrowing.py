"""The answers that would make price and date firm, and the pages that ask them."""

from dataclasses import dataclass

from portal.craft import open_answers as craft
from portal.craft.messages import Message
from portal.craft.open_answers import Slow
from portal.craft.parts import Declared
from portal.orders.intake.draft_answers import Step


@dataclass(frozen=True, slots=True)
class Narrowing:
    """An answer that would make price and date firm, the page that asks it, and of which set."""

    step: Step
    set_key: str
    says: Message


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
