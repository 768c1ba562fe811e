"""An appraisal as plain values, for JSON: every figure with its unit in its name."""

import dataclasses
from collections.abc import Mapping
from decimal import Decimal
from enum import Enum
from typing import Any

from portal.craft.answers import Appraisal, SetAppraisal
from portal.craft.declared import write_declared
from portal.craft.markings import (
    load_kg,
    read_rim,
    read_tyre,
    rim_from_tyre,
    speed_kmh,
    tyre_diameter_mm,
    tyre_on_rim,
    write_rim,
    write_tyre,
)
from portal.craft.messages import Message
from portal.craft.parts import Item, PartSet, Remover, Usage
from portal.craft.refit import guide
from portal.shop.assessment.assess import Assessment
from portal.shop.assessment.delivery_options import Way, usual_days
from portal.shop.money import Money
from portal.shop.pricing.price_list import Tariff
from portal.shop.pricing.quote import Quote


def plain(value: Any) -> Any:
    """Return any result of craft or shop as plain JSON values; messages and sums become texts."""
    if dataclasses.is_dataclass(value) and not isinstance(value, Money):
        return {one.name: plain(getattr(value, one.name)) for one in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(plain(key)): plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [plain(one) for one in value]
    return _single(value)


def _single(value: Any) -> Any:
    if isinstance(value, Money):
        return f"{value.major:.2f}"
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    if isinstance(value, float):
        return round(value, 4)
    return str(value) if isinstance(value, Message) else value


def data_of(assessed: Assessment, ways: tuple[Way, ...], tariff: Tariff) -> dict[str, Any]:
    """Return everything known about an order as one JSON-able table."""
    order, appraisal = write_declared(assessed.declared), assessed.appraisal
    return {
        "order": order,
        "can_be_booked": not appraisal.refused,
        "sets": [
            _set_data(answer, told)
            for answer, told in zip(appraisal.sets, order.get("sets", []), strict=True)
        ],
        "cautions": plain(appraisal.cautions),
        "price": _price(assessed.quote),
        "ways": plain(ways),
        "working_days": days_of(appraisal, tariff),
        "refit": plain(refit_steps(appraisal, assessed.declared.usage)),
    }


def days_of(appraisal: Appraisal, tariff: Tariff) -> dict[str, int]:
    """Return the usual working days: in the house, at the stripper, waiting for powder, together.

    Parts are booked to arrive when the powder has, so the wait comes before the rest.
    """
    wait = max(appraisal.powder_days, appraisal.sample_days)
    together, outside = usual_days(appraisal, tariff), appraisal.outside_days
    return {
        "here": together - outside,
        "outside": outside,
        "waiting_for_powder": wait,
        "together": together + wait,
    }


def refit_steps(appraisal: Appraisal, usage: Usage | None) -> tuple[Any, ...]:
    """Return the refit guide for what is really removed."""
    taken: set[Item] = {
        removal.item
        for answer in appraisal.sets
        for removal in answer.removals
        if removal.by(answer.part_set) is not Remover.STAYS
    }
    return guide([answer.part_set for answer in appraisal.sets], sorted(taken), usage)


def _set_data(answer: SetAppraisal, told: dict[str, Any]) -> dict[str, Any]:
    coats = answer.coats
    return {
        "key": answer.part_set.key,
        "declared": told,
        "markings": markings_of(answer.part_set),
        "surface_each": plain(answer.surface),
        "strip_route": plain(answer.route),
        "removals": [
            plain(removal) | {"remover": removal.by(answer.part_set).value}
            for removal in answer.removals
        ],
        "coats": plain(coats),
        "colour_from_samples": [
            {"colour": chosen.colour, "gloss": chosen.gloss.value}
            for one in answer.possible
            if (chosen := one.part_set.finish)
        ],
        "powder": plain(answer.needs),
        "masking": plain(answer.masks),
        "heat": plain(answer.heat),
        "cautions": plain(answer.cautions),
    }


def markings_of(one: PartSet) -> dict[str, Any]:
    """Return what the markings of a wheel say, what was assumed, and whether they agree."""
    found: dict[str, Any] = {}
    if one.rim:
        read = read_rim(one.rim_text or write_rim(one.rim))
        found["rim"] = write_rim(one.rim)
        found["rim_says"] = plain(read.understood)
        found["rim_assumed"] = plain(read.assumed)
    if one.tyre:
        tyre = read_tyre(one.tyre_text or write_tyre(one.tyre))
        found["tyre"] = write_tyre(one.tyre)
        found["tyre_says"] = plain(tyre.understood)
        found["tyre_assumed"] = plain(tyre.assumed)
        found["tyre_diameter_mm"] = plain(tyre_diameter_mm(one.tyre))
        if one.tyre.load_index is not None:
            found["load_kg"] = plain(load_kg(one.tyre.load_index))
        if one.tyre.speed:
            found["speed_kmh"] = plain(speed_kmh(one.tyre.speed))
        if one.rim:
            found["tyre_on_rim"] = plain(tyre_on_rim(one.tyre, one.rim))
        else:
            found["rim_assumed_from_tyre"] = write_rim(rim_from_tyre(one.tyre))
    return found


def _price(quote: Quote) -> dict[str, Any]:
    whole: dict[str, Any] = plain(quote)
    return whole | {"currency": quote.total.currency, "firm": quote.firm}
