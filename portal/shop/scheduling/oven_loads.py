"""Which parts go into the oven together: one bake, all of it inside, sets kept together.

What may share a load stands in `bake_batches`; the load runs at the highest temperature.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from portal.craft.bakes import Bake, Schedule
from portal.shop.scheduling.bake_batches import all_agree
from portal.shop.scheduling.stations import Oven, PartWork, oven_share

# shares are added up in floating point: 25 wheels of a 25th each still are one full load
FULL = 1 + 1e-9


@dataclass(frozen=True, slots=True)
class Waiting:
    """A part that waits for the oven; `group` is what stays together (its job and set).

    `pre_bake` when it waits for the bake before its first coat.
    """

    part_id: int
    group: str
    work: PartWork
    coat: int
    pre_bake: bool = False

    @property
    def bake(self) -> Schedule:
        """The bake that it waits for: that of the coat on it now, or the pre-bake."""
        first = self.work.pre_bake_schedule if self.pre_bake else None
        return first or self.work.cure_of(self.coat).schedule


@dataclass(frozen=True, slots=True)
class Load:
    """A proposed load: parts in order, its bake, room taken.

    `set_point_c` in °C, `minutes` at temperature.
    """

    part_ids: tuple[int, ...]
    bake: Bake
    set_point_c: int
    minutes: int
    share: float


def propose(waiting: Sequence[Waiting], oven: Oven) -> tuple[Load, ...]:
    """Fill loads from `waiting`, which is sorted by priority.

    A group that fits into what is left stays whole; one that is larger than the whole oven is
    spread over several loads.
    """
    loads: list[Load] = []
    left = list(waiting)
    while left:
        taken = _fill(left, oven)
        ids = {one.part_id for one in taken}
        left = [one for one in left if one.part_id not in ids]
        loads.append(load_of(taken, oven))
    return tuple(loads)


def load_of(parts: Sequence[Waiting], oven: Oven) -> Load:
    """Return the load of these parts: hottest set point, longest time, room taken."""
    return Load(
        part_ids=tuple(one.part_id for one in parts),
        bake=parts[0].bake.bake,
        set_point_c=max(one.bake.set_point_c for one in parts),
        minutes=max(one.bake.whole_min for one in parts),
        share=sum(oven_share(one.work, oven) for one in parts),
    )


def cures_agree(parts: Sequence[Waiting], oven: Oven) -> bool:
    """Whether these parts may share a load."""
    return all_agree([one.bake for one in parts], oven.apart_c)


def _fill(waiting: Sequence[Waiting], oven: Oven) -> list[Waiting]:
    taken: list[Waiting] = []
    room = FULL
    done: set[str] = set()
    for first in waiting:
        if first.group in done:
            continue
        done.add(first.group)
        group = [one for one in waiting if one.group == first.group and one.bake == first.bake]
        if taken and not cures_agree([*taken, *group], oven):
            continue
        share = sum(oven_share(one.work, oven) for one in group)
        if share <= room:
            taken += group
            room -= share
        elif not taken:
            # larger than the oven: as many as fit, one at least
            return _as_many_as_fit(group, oven)
    return taken


def _as_many_as_fit(group: Sequence[Waiting], oven: Oven) -> list[Waiting]:
    taken = [group[0]]
    room = FULL - oven_share(group[0].work, oven)
    for one in group[1:]:
        room -= oven_share(one.work, oven)
        if room < 0:
            break
        taken.append(one)
    return taken
