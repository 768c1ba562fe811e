"""Acceptance after the oven: film thickness in µm, adhesion class, gloss in units at 60°.

Rules and scales are in data/inspection.toml with their sources.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from portal.craft.messages import CraftError, Message
from portal.craft.quantities import Quantity, Span, Unit, micron
from portal.craft.tables import toml_table

_TABLE = toml_table("inspection.toml")


@dataclass(frozen=True, slots=True)
class Verdict:
    """Accepted or not, and why; mean and lowest judged value in µm (or gloss units)."""

    accepted: bool
    says: Message
    mean: float
    lowest: float


def quality_label(values_um: Sequence[float], minimum_um: float) -> Verdict:
    """Judge at least five measured values (each the mean of its area's readings) by the label.

    Their mean must reach the minimum and none may be under 80 % of it. As remembered from the
    quality label for coated aluminium, §2.3. Raises CraftError for fewer values.
    """
    rule = _TABLE["quality_label"]
    _readings(values_um, rule["values"])
    mean, lowest = math.fsum(values_um) / len(values_um), min(values_um)
    floor = rule["lowest_share"] * minimum_um
    figures = {
        "mean": micron(round(mean)),
        "lowest": _film(lowest),
        "minimum": _film(minimum_um),
        "floor": _film(floor),
    }
    if lowest < floor:
        says = Message("One reading is {lowest}, below {floor}. It needs another coat.", **figures)
        return Verdict(accepted=False, says=says, mean=mean, lowest=lowest)
    if mean < minimum_um:
        says = Message("Too thin: the mean is {mean}, at least {minimum} is needed.", **figures)
        return Verdict(accepted=False, says=says, mean=mean, lowest=lowest)
    says = Message("Accepted: mean {mean}, lowest {lowest}.", **figures)
    return Verdict(accepted=True, says=says, mean=mean, lowest=lowest)


def spot_rule(spots: Sequence[Sequence[float]], low_um: float, high_um: float) -> Verdict:
    """Judge at least five spots of at least three readings by the spot rule (SSPC-PA 2, level 3).

    Each spot's mean lies within 80 % of the low and 120 % of the high limit, the mean of the spots
    within the range; single readings don't count. Raises CraftError for fewer.
    """
    rule = _TABLE["spot_rule"]
    if len(spots) < rule["spots"]:
        raise CraftError(Message("Enter readings for at least {count} spots.", count=rule["spots"]))
    for spot in spots:
        _readings(spot, rule["readings"])
    means = [math.fsum(spot) / len(spot) for spot in spots]
    mean, lowest = math.fsum(means) / len(means), min(means)
    floor, ceiling = rule["low_share"] * low_um, rule["high_share"] * high_um
    wide, limits = _range(floor, ceiling), _range(low_um, high_um)
    mean_film = micron(round(mean))
    accepted = False
    if lowest < floor or max(means) > ceiling:
        says = Message("One spot is outside {limits}.", limits=wide)
    elif not low_um <= mean <= high_um:
        says = Message(
            "The mean of the spots is {mean}, outside {limits}.", mean=mean_film, limits=limits
        )
    else:
        accepted = True
        says = Message(
            "Accepted: all spots and their mean, {mean}, are within limits.", mean=mean_film
        )
    return Verdict(accepted=accepted, says=says, mean=mean, lowest=lowest)


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


def adhesion_of_flaked(percent: float) -> Adhesion:
    """Return the cross-cut class for the share of the cut area that came off, in percent."""
    if not 0 <= percent <= 100:
        raise CraftError(Message("Enter the flaked area as a percentage from 0 to 100."))
    return adhesion(next(r["iso"] for r in _TABLE["adhesion"] if percent <= r["up_to_percent"]))


def cut_spacing_mm(film_um: float) -> int:
    """Return the spacing of the cross cuts in mm for a film."""
    return next(int(r["mm"]) for r in _TABLE["cut_spacing"] if film_um <= r["up_to_um"])


def gloss_tolerance(nominal_gu: float) -> int:
    """Return how far a gloss reading at 60° may lie from its nominal value, in gloss units."""
    if not 0 <= nominal_gu <= 100:
        raise CraftError(
            Message("Enter the gloss at 60° as a number from 0 to 100."), key="gloss_gu"
        )
    return next(int(r["tolerance"]) for r in _TABLE["gloss"] if nominal_gu <= r["up_to"])


def gloss(reading_gu: float, nominal_gu: float) -> Verdict:
    """Judge a gloss reading at 60° against the powder's nominal value."""
    spread = gloss_tolerance(nominal_gu)
    accepted = abs(reading_gu - nominal_gu) <= spread
    figures = {"reading": round(reading_gu, 1), "nominal": round(nominal_gu, 1), "spread": spread}
    if accepted:
        says = Message("Gloss is {reading} units, as ordered ({nominal} ± {spread}).", **figures)
    else:
        says = Message("Gloss is {reading} units; {nominal} ± {spread} was ordered.", **figures)
    return Verdict(accepted=accepted, says=says, mean=reading_gu, lowest=reading_gu)


def _readings(values: Sequence[float], least: int) -> None:
    if len(values) < least:
        raise CraftError(Message("Enter at least {count} readings.", count=least))
    if not all(math.isfinite(value) and 0 <= value <= 2000 for value in values):
        raise CraftError(
            Message("Enter a film thickness from {range}.", range=_range(0, 2000)),
            key="readings_um",
        )


def _film(value: float) -> Quantity:
    return micron(round(value, 1))


def _range(low: float, high: float) -> Span:
    return Span(round(low, 1), round(high, 1), Unit.UM)
