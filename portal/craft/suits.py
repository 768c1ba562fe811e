"""Which parts a powder can't be baked on here, and why: shown to the office on saving.

Each kind of part that heat softens is tried in its usual size, with the plainest finish that uses
the powder, so that a powder that is too hot for one of them is known before an order comes.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from portal.craft.answers import Heat
from portal.craft.appraise import Practice, heat_of
from portal.craft.finishes import BANDS, has_clear, powders_for, systems_for
from portal.craft.parts import (
    Effect,
    FinishChoice,
    Metal,
    PartKind,
    PartSet,
    Powder,
    Rim,
    Titled,
    WheelBuild,
)

_RIM = Rim(diameter_code=18, width_code=8)
_TRIED: tuple[tuple[Titled, PartSet], ...] = (
    *(
        (build, PartSet("A", PartKind.WHEEL, 4, build=build, rim=_RIM))
        for build in (
            WheelBuild.CAST,
            WheelBuild.FORGED,
            WheelBuild.MULTI_PIECE,
            WheelBuild.CHROME_PLATED,
        )
    ),
    (PartKind.CALIPER, PartSet("A", PartKind.CALIPER, 2, metal=Metal.CAST_ALUMINIUM)),
    (PartKind.FRAME, PartSet("A", PartKind.FRAME, 1, metal=Metal.FORGED_ALUMINIUM)),
)


@dataclass(frozen=True, slots=True)
class Unsuited:
    """A kind of part that a powder is too hot for: minutes at 200 °C against the shop's limit."""

    what: Titled
    minutes: float
    limit: float


def unsuited(powder: Powder, practice: Practice) -> tuple[Unsuited, ...]:
    """Return the aluminium parts that this powder can't be baked on here, at its coolest finish."""
    rest = {
        code: other
        for code, other in practice.stock.items()
        # its own kind would take its place in the plan
        if code != powder.code and not (powder.effect is other.effect is Effect.CLEAR)
    }
    tried = replace(practice, stock={**rest, powder.code: powder})
    found = []
    for what, one in _TRIED:
        heats = list(_heats(one, powder, tried))
        if heats and not any(hot.allowed for hot in heats):
            least = min(hot.equivalent_min_at_200 for hot in heats)
            found.append(Unsuited(what, least, practice.heat_limit_min_at_200))
    return tuple(found)


def _heats(one: PartSet, powder: Powder, practice: Practice) -> Iterator[Heat]:
    """Yield the heat of every finish of the part that has this powder in it."""
    for system in systems_for(one):
        for gloss in BANDS:
            for colour in powders_for(system, gloss, practice.stock):
                clear = has_clear(system) and powder.effect is Effect.CLEAR
                if colour.code != powder.code and not clear:
                    continue
                choice = FinishChoice(system=system, colour=colour.code, gloss=gloss)
                hot = heat_of(replace(one, finish=choice), practice)
                if hot is not None:
                    yield hot
