"""A row of the table: one fault, how often it came, what was done meanwhile, what did not hold."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field

from tests.faults.pressed import VERBS
from tests.faults.scene import Scene


@dataclass
class Row:
    """What one kind of fault came to; `done` is how many presses of each kind were acknowledged."""

    fault: str
    database: str
    times: int
    told: str
    faults: list[str] = field(default_factory=list)
    done: dict[str, int] = field(default_factory=dict)

    @property
    def holds(self) -> bool:
        return not self.faults


def row_of(fault: str, here: Scene, times: int, faults: list[str]) -> Row:
    """Return the row of a run; what nobody did in it was not proven."""
    done = {verb: here.pressed.done()[verb] for verb in VERBS}
    idle = [f"{verb} was acknowledged to nobody" for verb, count in done.items() if not count]
    never = [] if times else ["the fault never came"]
    return Row(fault, here.kind, times, tell(here), [*faults, *idle, *never], done)


def tell(here: Scene) -> str:
    """Return what happened, in figures."""
    pressed = here.pressed
    why = Counter(" ".join(one.refused.split())[:60] for one in pressed.all if one.refused)
    said = {
        "acknowledged": [f"{kind} {pressed.count(kind)}" for kind in VERBS],
        "answers lost": _counted(pressed.lost_answers),
        "told 503": _counted(pressed.unavailable),
        "killed": _counted(here.portal.kills),
        "mail server met": _counted(here.office.met),
        "letters": [str(len(here.office.taken)), f"twice {here.letters_twice()}"],
        "refused": [f"{text} ({n})" for text, n in why.most_common(3)],
    }
    return "; ".join(f"{name} {', '.join(of)}" for name, of in said.items() if of)


def _counted(found: Mapping[str, int]) -> list[str]:
    return [f"{name} {times}" for name, times in sorted(found.items())]
