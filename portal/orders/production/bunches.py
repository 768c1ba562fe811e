"""Groups at a station that share a head: a colour, a cure, an oven load, a strip run, a film.

What holds for all of them is told there once, so that their cards need two lines.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.orders.kernel.work_card import CardCoat
from portal.orders.production.groups import Group
from portal.shop.route import Fact, PartStage
from portal.shop.states import RunState
from portal.store.floor import OvenLoad, StripRun


@dataclass(frozen=True, slots=True)
class RunningLoad:
    """An oven load that is not closed yet, and when it is to come out."""

    id: int
    out_at: datetime


@dataclass(frozen=True, slots=True)
class OpenRun:
    """A strip run that is not back yet."""

    id: int
    state: RunState
    leaves_on: date
    back_on: date


@dataclass(frozen=True, slots=True)
class Batches:
    """The oven loads and strip runs that are under way, by what `FloorPart.where` calls them."""

    loads: dict[str, RunningLoad]
    runs: dict[str, OpenRun]


@dataclass(frozen=True, slots=True)
class Bunch:
    """Groups under one head, in the order of the forecast; at most one of the heads is there.

    `coat` is the powder with its film, `cure` a bake in °C and minutes, `film_um` all coats
    together.
    """

    groups: tuple[Group, ...]
    coat: CardCoat | None = None
    cure: tuple[int, float] | None = None
    film_um: tuple[int, int] | None = None
    load: RunningLoad | None = None
    run: OpenRun | None = None

    @property
    def count(self) -> int:
        """How many parts are in it."""
        return sum(len(group.parts) for group in self.groups)

    @property
    def ids(self) -> frozenset[int]:
        """The ids of its parts."""
        return frozenset(part for group in self.groups for part in group.ids)


# built once: building a statement costs more than running it
_LOADS = sa.select(OvenLoad.id, OvenLoad.started_at, OvenLoad.minutes).where(
    OvenLoad.closed_at.is_(None)
)
_RUNS = sa.select(StripRun.id, StripRun.state, StripRun.leaves_on, StripRun.back_on).where(
    StripRun.state != RunState.BACK
)


def batches(session: Session) -> Batches:
    """Return the oven loads that run and the strip runs that are not back."""
    loads, runs = session.execute(_LOADS), session.execute(_RUNS)
    return Batches(
        {
            f"load-{number}": RunningLoad(number, start + timedelta(minutes=minutes))
            for number, start, minutes in loads
        },
        {f"run-{row.id}": OpenRun(*row) for row in runs},
    )


def bunched(stage: PartStage, groups: Sequence[Group], under_way: Batches) -> tuple[Bunch, ...]:
    """Return the groups of a station under their heads; the bunch of the first group goes first."""
    found: dict[object, list[Group]] = {}
    for group in groups:
        found.setdefault(_key(stage, group, under_way), []).append(group)
    return tuple(_bunch(stage, tuple(members), under_way) for members in found.values())


def _key(stage: PartStage, group: Group, under_way: Batches) -> object:
    head = _bunch(stage, (group,), under_way)
    coat = head.coat and (head.coat.powder_code, head.coat.film_um)
    return (coat, head.cure, head.film_um, head.load, head.run)


def _bunch(stage: PartStage, groups: tuple[Group, ...], under_way: Batches) -> Bunch:
    first = groups[0]
    where, coat, card = first.parts[0].where, first.coat, first.card
    if where in under_way.loads:
        return Bunch(groups, load=under_way.loads[where])
    if where in under_way.runs:
        return Bunch(groups, run=under_way.runs[where])
    if stage.tells(Fact.CURE) and coat:
        return Bunch(groups, cure=(coat.cure_c, coat.cure_min))
    if stage.tells(Fact.COAT) and coat:
        return Bunch(groups, coat=coat)
    if stage.tells(Fact.FILM) and card.film_um[1]:
        return Bunch(groups, film_um=card.film_um)
    return Bunch(groups)
