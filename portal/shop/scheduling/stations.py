"""The work that each part brings to the stations of the floor.

Minutes are standard minutes of one person or machine; lengths in mm, masses in kg,
temperatures in °C.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Annotated, Any

from pydantic import BeforeValidator, PlainSerializer

from portal.craft import reading
from portal.craft.answers import Coat, SetAppraisal
from portal.craft.bakes import Bake, Schedule
from portal.craft.parts import Remover
from portal.shop.route import STATIONS, PartPlan, PartStage
from portal.shop.scheduling.station import (
    Oven,
    Station,
    Stations,
    read_stations,
)

__all__ = [
    "Cure",
    "Oven",
    "PartWork",
    "Station",
    "Stations",
    "oven_share",
    "part_work",
    "plan_of",
    "read_stations",
    "read_work",
    "write_work",
]
# stations whose minutes a part brings along; those of the booth go by coat
TIMED = tuple(stage for stage in STATIONS if stage.by_hand and not stage.uses_powder)
GAP_MM = 60.0  # air around a part on the rack, so that it heats evenly; common practice


@dataclass(frozen=True, slots=True)
class Cure:
    """One coat's stay in the oven: set point, minutes at temperature, which powder it cures.

    `full_min` is what a full cure takes, more than `minutes` where a later coat completes this
    one; 0 in works that were written before it was kept.
    """

    cure_c: int
    minutes: float
    powder: str
    full_min: float = 0.0

    @property
    def schedule(self) -> Schedule:
        """The bake as planned."""
        bake = Bake.GEL if self.full_min > self.minutes else Bake.CURE
        return Schedule(bake, self.cure_c, self.minutes, self.full_min)


def _from_row(stored: Any) -> Any:
    names = ("cure_c", "minutes", "powder", "full_min")
    return dict(zip(names, stored, strict=False)) if isinstance(stored, list | tuple) else stored


# a cure is kept as a row
ROW = (
    BeforeValidator(_from_row),
    PlainSerializer(lambda one: [one.cure_c, one.minutes, one.powder, one.full_min]),
)


@dataclass(frozen=True, slots=True)
class PartWork:
    """What one part asks of each station, in standard minutes; what `part.work` holds as JSON.

    `minutes` has what each station takes by hand, but for a station that is newer than the part.
    `coat` and `cures` have one entry a coat, in order. `outside_days` is how many working days an
    outside strip takes at least, 0 when the part stays in the house. `pre_bake` is a first stay
    in the oven, before any powder, or None.
    """

    set_key: str
    minutes: Mapping[PartStage, float]
    coat: tuple[float, ...]
    cures: tuple[Annotated[Cure, *ROW], ...]
    outside_days: int = 0
    envelope_mm: tuple[float, float, float] = (500.0, 500.0, 250.0)
    mass_kg: float = 10.0
    pre_bake: tuple[int, float] | None = None

    def __hash__(self) -> int:
        """Return a hash that equal works share; the minutes are a mapping and have none."""
        return hash((self.set_key, self.coat, self.cures, self.outside_days, self.mass_kg))

    def minutes_at(self, stage: PartStage, coats_done: int, station: Station) -> float:
        """Return the minutes that one part takes by hand at a stage, with so many coats on it."""
        if stage.uses_powder:
            return self.coat[min(coats_done, len(self.coat) - 1)]
        return self.minutes.get(stage, station.minutes)

    def cure_of(self, coats_done: int) -> Cure:
        """Return the cure of the coat after `coats_done`."""
        return self.cures[min(coats_done, len(self.cures) - 1)]

    @property
    def pre_bake_schedule(self) -> Schedule | None:
        """The stay before any powder, as planned; None where there is none."""
        return Schedule(Bake.PRE_BAKE, *self.pre_bake) if self.pre_bake else None


def write_work(work: PartWork) -> dict[str, Any]:
    """Return what a part asks of the stations as plain values; each station is a key."""
    written = reading.write(work, all_of_it=True)
    return {**written.pop("minutes"), **written}


def read_work(stored: Mapping[str, Any]) -> PartWork:
    """Return what `write_work` kept."""
    minutes = {stage.value: stored[stage.value] for stage in TIMED if stage.value in stored}
    return reading.read(PartWork, {**stored, "minutes": minutes})


def part_work(appraisal: SetAppraisal, stations: Stations, *, refit: bool) -> PartWork:
    """Return what one part of an appraised set needs at the stations.

    Where the size is not known yet the part counts as one of half a square metre; before a finish
    is chosen it counts as a single coat, so that a first date can be shown early.
    """
    if appraisal.possible:
        return _any_work([part_work(p, stations, refit=refit) for p in appraisal.possible])
    surface = appraisal.surface
    area = surface.area_m2 if surface else 0.5
    part_set = appraisal.part_set
    off = sum(one.minutes for one in appraisal.removals if one.by(part_set) is Remover.US)
    coats = appraisal.coats.coats if appraisal.coats else ()
    booth = stations[PartStage.COAT]
    minutes = {one: stations[one].minutes + stations[one].per_m2 * area for one in TIMED}
    masks = 1.5 * len(appraisal.masks)  # minutes to plug or tape one zone; common practice
    minutes[PartStage.PREP] += appraisal.route.bench_minutes + off + masks
    minutes[PartStage.BLAST] = appraisal.route.blast_minutes or minutes[PartStage.BLAST]
    minutes[PartStage.REFIT] *= refit
    return PartWork(
        set_key=part_set.key,
        minutes=minutes,
        coat=tuple(booth.minutes + booth.per_m2 * area * one.share for one in coats)
        or (booth.minutes + booth.per_m2 * area,),
        cures=tuple(_cure(one) for one in coats) or (Cure(180, 15.0, ""),),
        outside_days=max(1, appraisal.route.outside_days) if appraisal.route.outside else 0,
        envelope_mm=surface.envelope_mm if surface else (500.0, 500.0, 250.0),
        mass_kg=surface.mass_kg if surface else 10.0,
        pre_bake=appraisal.coats.pre_bake if appraisal.coats else None,
    )


def _any_work(works: list[PartWork]) -> PartWork:
    """Return the longest work that a colour chosen later can cause; it names no powder."""
    longest = max(works, key=lambda one: sum(one.coat) + sum(cure.minutes for cure in one.cures))
    powders = [{cure.powder for cure in one.cures} for one in works]
    cures = tuple(
        replace(cure, powder=cure.powder if all(cure.powder in p for p in powders) else "")
        for cure in longest.cures
    )
    return replace(longest, cures=cures)


def plan_of(work: PartWork) -> PartPlan:
    """Return the stages that a part with this work passes through."""
    refit = work.minutes.get(PartStage.REFIT, 0.0) > 0
    return PartPlan(strip=work.outside_days > 0, coats=len(work.coat), refit=refit)


def oven_share(work: PartWork, oven: Oven) -> float:
    """Return how much of one oven load a part takes: by volume with air around it, or by mass."""
    length, width, height = work.envelope_mm
    part = (length + GAP_MM) * (width + GAP_MM) * (height + GAP_MM)
    room = math.prod(oven.size_mm) * oven.fill
    return max(part / room, work.mass_kg / oven.limit_kg)


def _cure(coat: Coat) -> Cure:
    full = float(coat.cure_min if coat.full_cure else coat.powder.cure[1])
    return Cure(coat.cure_c, coat.cure_min, coat.powder.code, full)
