"""An appraisal as plain values, for JSON: every figure with its unit in its name."""

import dataclasses
from collections.abc import Mapping
from decimal import Decimal
from enum import Enum
from typing import Any

from portal.craft.answers import SetAppraisal
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
from portal.craft.parts import PartSet
from portal.craft.refit import guide_for
from portal.render.reader import Reader
from portal.render.text import render
from portal.shop.appraisal import Appraised, days_of
from portal.shop.money import Money
from portal.shop.pricing.quote import Quote


def data_of(appraised: Appraised, reader: Reader) -> dict[str, Any]:
    """Return everything that can be said about an order as one JSON-able table."""
    order = write_declared(appraised.order.declared)
    appraisal = appraised.order.appraisal
    data: dict[str, Any] = {
        "order": order,
        "can_be_booked": not appraisal.refused,
        "sets": [
            _set_data(answer, declared)
            for answer, declared in zip(appraisal.sets, order.get("sets", []), strict=True)
        ],
        "cautions": appraisal.cautions,
    }
    if not appraisal.refused:
        data |= {
            "price": _price(appraised.order.quote),
            "ways": appraised.ways,
            "working_days": days_of(appraised),
            "refit": guide_for(appraised.order.declared),
        }
    whole: dict[str, Any] = _plain(data, reader)
    return whole


def _plain(value: Any, reader: Reader) -> Any:
    """Return any answer of craft or shop as JSON has it; messages and sums become texts."""
    if isinstance(value, Message):
        return render(value, reader)
    if dataclasses.is_dataclass(value) and not isinstance(value, Money):
        return {key: _plain(one, reader) for key, one in _fields(value).items()}
    if isinstance(value, Mapping):
        return {_single(key): _plain(one, reader) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one, reader) for one in value]
    return _single(value)


def _fields(value: Any) -> dict[str, Any]:
    return {one.name: getattr(value, one.name) for one in dataclasses.fields(value)}


def _single(value: Any) -> Any:
    if isinstance(value, Money):
        return value.plain
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    return round(value, 4) if isinstance(value, float) else value


def _set_data(answer: SetAppraisal, declared: dict[str, Any]) -> dict[str, Any]:
    return {
        "key": answer.part_set.key,
        "declared": declared,
        "markings": markings_of(answer.part_set),
        "surface_each": answer.surface,
        "strip_route": answer.route,
        "removals": [
            _fields(removal) | {"remover": removal.by(answer.part_set)}
            for removal in answer.removals
        ],
        "coats": answer.coats,
        "colour_from_samples": [
            {"colour": chosen.colour, "gloss": chosen.gloss}
            for one in answer.possible
            if (chosen := one.part_set.finish)
        ],
        "powder": answer.needs,
        "masking": answer.masks,
        "heat": answer.heat,
        "cautions": answer.cautions,
    }


def markings_of(one: PartSet) -> dict[str, Any]:
    """Return what the markings of a wheel say, what was assumed, and whether they agree."""
    found: dict[str, Any] = {}
    if one.rim:
        read = read_rim(one.rim_text or write_rim(one.rim))
        found["rim"] = write_rim(one.rim)
        found["rim_says"] = read.understood
        found["rim_assumed"] = read.assumed
        found["rim_unsure"] = read.unsure
    if one.tyre:
        tyre = read_tyre(one.tyre_text or write_tyre(one.tyre))
        found["tyre"] = write_tyre(one.tyre)
        found["tyre_says"] = tyre.understood
        found["tyre_assumed"] = tyre.assumed
        found["tyre_diameter_mm"] = tyre_diameter_mm(one.tyre)
        if one.tyre.load_index is not None:
            found["load_kg"] = load_kg(one.tyre.load_index)
        if one.tyre.speed:
            found["speed_kmh"] = speed_kmh(one.tyre.speed)
        if one.rim:
            found["tyre_on_rim"] = tyre_on_rim(one.tyre, one.rim)
        else:
            found["rim_assumed_from_tyre"] = write_rim(rim_from_tyre(one.tyre))
    return found


def _price(quote: Quote) -> dict[str, Any]:
    return _fields(quote) | {"currency": quote.total.currency, "firm": quote.firm}
