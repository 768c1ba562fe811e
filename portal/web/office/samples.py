"""Wheels in every look and rails in every state, for the page of components."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import pairwise

from portal.craft.messages import Message
from portal.craft.parts import (
    Effect,
    FaceStyle,
    FinishChoice,
    Gloss,
    PartKind,
    PartSet,
    Powder,
    Rim,
    System,
    Titled,
    Tyre,
)
from portal.shop.moves import JobState
from portal.shop.rail import Dates, PartMove, Stop, Travelled, rail
from portal.shop.route import BARED, OVEN, PartPlan, PartStage
from portal.shop.verbs import EventVerb

MIDDLING = 33  # L* of CIELAB
Look = tuple[Titled | Message, PartSet]
_WAY = PartPlan(strip=False, coats=2, refit=False).stages()


def faces() -> list[PartSet]:
    """Return a wheel of every face, with its tyre."""
    rim = Rim(diameter_code=18, width_code=8, bolts=5, bolt_circle_mm=112)
    tyre = Tyre(rim_code=18, width_mm=225, aspect=40)
    return [PartSet("w", PartKind.WHEEL, 4, face=f, rim=rim, tyre=tyre) for f in FaceStyle]


def looks(stock: Mapping[str, Powder]) -> list[Look]:
    """Return a wheel in every gloss, every effect, and every way in which two colours meet."""
    by_effect = _one_of_each(stock.values())
    found: list[Look] = []
    if solid := by_effect.get(Effect.SOLID):
        # under a clear coat the clear coat's gloss counts, not the powder's own
        found += [(g, _wheel(FinishChoice(System.BASE_CLEAR, solid.code, g))) for g in Gloss]
    for effect, powder in by_effect.items():
        if effect not in (Effect.SOLID, Effect.CLEAR):
            found.append((effect, _wheel(FinishChoice(_system_of(effect), powder.code))))
    if solid and (other := by_effect.get(Effect.METALLIC)):
        machined = FinishChoice(System.MACHINED_CLEAR, solid.code)
        barrel = FinishChoice(System.BASE_CLEAR, solid.code, barrel=other.code)
        face = FinishChoice(System.BASE_CLEAR, solid.code, face=other.code)
        found += [
            (System.MACHINED_CLEAR, _wheel(machined)),
            (Message("Other colour inside"), _wheel(barrel)),
            (Message("Other colour on the face"), _wheel(face)),
        ]
    return found


def rails(now: datetime) -> list[tuple[Message, tuple[Stop, ...]]]:
    """Return rails of different jobs: two coats, a rework, one that is handed back.

    They are computed from moves by the rule of every job.
    """
    hours = [now - timedelta(hours=h) for h in range(60, 0, -5)]
    dates = Dates(hours[0], hours[1], received_at=hours[1])
    steps = zip(pairwise(_WAY), hours[2:], strict=False)
    moves = [PartMove(1, EventVerb.MOVE, before, after, at) for (before, after), at in steps]
    *inspected, passed = moves
    back = PartMove(1, EventVerb.REWORK, passed.from_, BARED, passed.at)
    in_second = [one for one in moves if one.at < inspected[-1].at]
    home = replace(dates, ready_at=hours[-3], handed_back_at=hours[-2])
    second = _travelled(OVEN, coats_done=1)
    reworked = _travelled(BARED, reworks=1)
    return [
        (
            Message("Booked"),
            rail(JobState.BOOKED, [_travelled(PartStage.EXPECTED)], [], Dates(now, now)),
        ),
        (Message("Two coats"), rail(JobState.IN_WORK, [second], in_second, dates)),
        (
            Message("Rework"),
            rail(JobState.IN_WORK, [reworked], [*inspected, back], dates),
        ),
        (
            Message("Collected"),
            rail(
                JobState.HANDED_BACK,
                [_travelled(PartStage.GONE)],
                moves,
                home,
            ),
        ),
    ]


def _travelled(stage: PartStage, coats_done: int = 0, reworks: int = 0) -> Travelled:
    return Travelled(1, stage, 2, coats_done, strip=False, refit=False, reworks=reworks)


def _wheel(finish: FinishChoice) -> PartSet:
    return PartSet("f", PartKind.WHEEL, 4, finish=finish)


def _system_of(effect: Effect) -> System:
    own = {
        Effect.TRANSLUCENT: System.TRANSLUCENT,
        Effect.CHROME: System.CHROME_LOOK,
        Effect.TEXTURE: System.TEXTURE,
    }
    return own.get(effect, System.SINGLE)


def _one_of_each(powders: Iterable[Powder]) -> dict[Effect, Powder]:
    # a colour of middling depth shows both the lamp and the shadow
    found: dict[Effect, Powder] = {}
    for powder in sorted(powders, key=lambda one: abs(one.lab[0] - MIDDLING)):
        found.setdefault(powder.effect, powder)
    return found
