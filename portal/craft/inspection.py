"""Acceptance after the oven: film thickness in µm, adhesion class, gloss in units at 60°.

Films are compared in whole tenths of a µm, and the figures that are told are those that were
compared. Rules and scales are in data/inspection.toml with their sources.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum

from portal.craft.messages import CraftError, Message
from portal.craft.quantities import Quantity, Span, Unit, micron
from portal.craft.tables import toml_table

_TABLE = toml_table("inspection.toml")
_SPOT = _TABLE["spot"]
LEAST_READINGS, MOST_READINGS = _SPOT["readings"]
THICKEST_UM = 2000

Spots = Sequence[Sequence[float]]


class Film(StrEnum):
    """What the readings say of a film."""

    GOOD = "good"
    THIN = "thin"
    THICK = "thick"


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the readings say, in words too; mean and lowest spot in µm, as compared."""

    film: Film
    says: Message
    mean: float
    lowest: float

    @property
    def accepted(self) -> bool:
        """Whether the film is as it should be."""
        return self.film is Film.GOOD


@dataclass(frozen=True, slots=True)
class Seen:
    """Whether something beside the film is accepted, and why."""

    accepted: bool
    says: Message


def tenths(film_um: float) -> int:
    """Return a film in whole tenths of a µm, half up."""
    return int((Decimal(str(film_um)) * 10).quantize(Decimal(1), rounding=ROUND_HALF_UP))


def spots_needed(area_m2: float) -> int:
    """Return how many spots are measured on a part; an unknown area (0) is that of a small part.

    Five an area of 10 m²; above 30 m² three such areas stand for 100 m², and one for each further
    100 m² begun (SSPC-PA 2, from memory).
    """
    row = _TABLE["areas"]
    if area_m2 <= row["each_up_to_m2"]:
        areas = max(1, math.ceil(area_m2 / row["m2"]))
    else:
        more = max(0.0, area_m2 - row["further_m2"])
        areas = row["of_first"] + math.ceil(more / row["further_m2"])
    return int(areas * _SPOT["spots"])


def spot_means(spots: Spots) -> tuple[float, ...]:
    """Return the mean of each spot's readings in µm, in whole tenths."""
    return tuple(_mean(list(map(tenths, spot))) / 10 for spot in spots)


def check_spots(spots: Spots, needed: int) -> None:
    """Raise CraftError unless there are enough spots with three to five readings each."""
    for number, spot in enumerate(spots, 1):
        for value in spot:
            if not (math.isfinite(value) and 0 <= value <= THICKEST_UM):
                raise CraftError(
                    Message("Enter a film thickness from {range}.", range=_range(0, THICKEST_UM)),
                    key="readings_um",
                )
        if not LEAST_READINGS <= len(spot) <= MOST_READINGS:
            raise CraftError(
                Message(
                    "Spot {number} has {count} readings. Take {least} to {most} at each spot.",
                    number=number,
                    count=len(spot),
                    least=LEAST_READINGS,
                    most=MOST_READINGS,
                )
            )
    if len(spots) < needed:
        raise CraftError(
            Message(
                "Measure {needed} spots, {least} to {most} readings at each. You have measured "
                "{count}.",
                needed=needed,
                least=LEAST_READINGS,
                most=MOST_READINGS,
                count=len(spots),
            )
        )


def quality_label(values_um: Sequence[float], low_um: float, high_um: float = math.inf) -> Verdict:
    """Judge the values of the spots, each the mean of its readings, by the quality label.

    Their mean reaches the minimum, and none is under 80 % of it (the label, §2.3, as remembered).
    The label has no upper limit: that of the powder counts as in `spot_rule`, common practice.
    """
    values = list(map(tenths, values_um))
    mean, lowest, low = _mean(values), min(values), tenths(low_um)
    share = _TABLE["quality_label"]["lowest_percent"]
    if 100 * lowest < share * low:
        floor = _um(-(-share * low // 100))
        says = Message(
            "One spot is {lowest}, below {floor}. It needs another coat.",
            lowest=_um(lowest),
            floor=floor,
        )
        return _verdict(Film.THIN, says, values)
    if mean < low:
        says = Message(
            "Too thin: the mean is {mean}, at least {minimum} is needed.",
            mean=_um(mean),
            minimum=_um(low),
        )
        return _verdict(Film.THIN, says, values)
    thick = _too_thick(values, high_um)
    if thick is not None:
        return _verdict(Film.THICK, thick, values)
    says = Message("Accepted: mean {mean}, lowest {lowest}.", mean=_um(mean), lowest=_um(lowest))
    return _verdict(Film.GOOD, says, values)


def spot_rule(values_um: Sequence[float], low_um: float, high_um: float) -> Verdict:
    """Judge the means of the spots by the spot rule (SSPC-PA 2, level 3).

    Each spot lies within 80 % of the low and 120 % of the high limit, the mean of each area of
    five spots within the range; single readings don't count.
    """
    values = list(map(tenths, values_um))
    low, high = tenths(low_um), tenths(high_um)
    floor, ceiling = _SPOT["low_percent"] * low, _SPOT["high_percent"] * high
    means = [_mean(area) for area in _areas(values)]
    if 100 * min(values) < floor or 100 * max(values) > ceiling:
        thin = 100 * min(values) < floor
        wide = Span(-(-floor // 100) / 10, ceiling // 100 / 10, Unit.UM)
        worst = min(values) if thin else max(values)
        says = Message("One spot is {film}, outside {limits}.", film=_um(worst), limits=wide)
        return _verdict(Film.THIN if thin else Film.THICK, says, values)
    for mean in means:
        if not low <= mean <= high:
            says = Message(
                "The mean of the spots is {mean}, outside {limits}.",
                mean=_um(mean),
                limits=_range(low_um, high_um),
            )
            return _verdict(Film.THIN if mean < low else Film.THICK, says, values)
    says = Message(
        "Accepted: all spots and their mean, {mean}, are within limits.", mean=_um(_mean(values))
    )
    return _verdict(Film.GOOD, says, values)


@dataclass(frozen=True, slots=True)
class Adhesion:
    """A cross-cut class: ISO 2409 (0 best) and ASTM D3359 method B (5B best)."""

    iso: int
    astm: str
    says: Message
    accepted: bool


def adhesion(iso_class: int) -> Adhesion:
    """Return what a cross-cut class of ISO 2409 means; only class 0 is accepted (the label)."""
    for row in _TABLE["adhesion"]:
        if row["iso"] == iso_class:
            return Adhesion(row["iso"], row["astm"], Message(row["says"]), accepted=iso_class == 0)
    raise CraftError(Message("Enter a cross-cut class from 0 to 5."), key="adhesion_class")


def adhesion_classes() -> tuple[Adhesion, ...]:
    """Return the classes, the best first."""
    return tuple(adhesion(row["iso"]) for row in _TABLE["adhesion"])


def no_cross_cut(film_um: float, *, textured: bool) -> Message | None:
    """Return why ISO 2409 doesn't cover a coating, None where it does."""
    limit = _TABLE["cut_spacing"][-1]["up_to_um"]
    if textured:
        return Message("The cross-cut test (ISO 2409) is not for textured coatings.")
    if tenths(film_um) > tenths(limit):
        return Message("The cross-cut test (ISO 2409) is not for films above {limit}.",
                       limit=micron(limit))  # fmt: skip
    return None


def cut_spacing_mm(film_um: float) -> int:
    """Return the spacing of the cross cuts in mm for a film that the test covers."""
    return next(int(r["mm"]) for r in _TABLE["cut_spacing"] if film_um <= r["up_to_um"])


def gloss(reading_gu: float, low_gu: float, high_gu: float) -> Seen:
    """Judge a gloss reading at 60° against the ordered range (`finishes.gloss_range_gu`)."""
    accepted = low_gu <= reading_gu <= high_gu
    figures = {"reading": reading_gu, "low": low_gu, "high": high_gu}
    if accepted:
        says = Message("Gloss {reading} units, as ordered ({low} to {high}).", **figures)
    else:
        says = Message("Gloss {reading} units: {low} to {high} was ordered.", **figures)
    return Seen(accepted, says)


def _too_thick(values: Sequence[int], high_um: float) -> Message | None:
    if math.isinf(high_um):
        return None
    high = tenths(high_um)
    mean, highest, ceiling = _mean(values), max(values), _SPOT["high_percent"] * high
    if mean > high:
        return Message(
            "Too thick: the mean is {mean}, at most {limit} was ordered.",
            mean=_um(mean),
            limit=_um(high),
        )
    if 100 * highest > ceiling:
        return Message(
            "Too thick: one spot is {highest}, above {limit}.",
            highest=_um(highest),
            limit=_um(ceiling // 100),
        )
    return None


def _areas(values: Sequence[int]) -> list[Sequence[int]]:
    """Return the spots of each area: five, and what is over goes with the last."""
    each = _SPOT["spots"]
    count = max(1, len(values) // each)
    ends = [*(each * n for n in range(1, count)), len(values)]
    return [values[begin:end] for begin, end in zip([0, *ends], ends, strict=False)]


def _mean(values: Sequence[int]) -> int:
    """Return the mean of whole tenths in whole tenths, half up."""
    return (2 * sum(values) + len(values)) // (2 * len(values))


def _verdict(film: Film, says: Message, values: Sequence[int]) -> Verdict:
    return Verdict(film, says, mean=_mean(values) / 10, lowest=min(values) / 10)


def _um(film: int) -> Quantity:
    return micron(film / 10)


def _range(low: float, high: float) -> Span:
    return Span(tenths(low) / 10, tenths(high) / 10, Unit.UM)
