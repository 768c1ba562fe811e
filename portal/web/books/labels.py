"""The words for the keys of the shop's documents: one home, and every word can be translated."""

import re
from typing import Any

from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l

from portal.craft.answers import NewPart, RouteKind
from portal.craft.parts import Damage, Effect, Item, PartKind, System, WheelBuild
from portal.shop.moves import PartStage
from portal.shop.price_list import PricedBy, TaxMode
from portal.shop.shop import InspectionRule
from portal.shop.station import QUEUED
from portal.web.kit.languages import titled

# words of the trade bring their own titles
TRADE = (PartKind, WheelBuild, System, Effect, Item, NewPart, RouteKind, Damage, PartStage)
# the same word means different things under different roofs
ROOFS = {
    "wheels.builds": WheelBuild,
    "finishes.systems": System,
    "finishes.effects": Effect,
    "strip.routes": RouteKind,
    "removal.off": Item,
    "removal.refit": Item,
    "removal.new_parts": NewPart,
    "repairs": Damage,
    "parts": PartKind,
}

WORDS: dict[str, Any] = {
    "address": _l("Address, one line each"),
    "apart_c": _l("Cures may differ by"),
    "assume": _l("Size assumed until it is known"),
    "assume_m2": _l("Area assumed until the size is known"),
    "at_least": _l("At least"),
    "back_after_days": _l("Back after working days"),
    "back_at": _l("Back at"),
    "bands": _l("Price by size"),
    "builds": _l("On top, by how the wheel is made"),
    "besides": _l("Besides"),
    "by": _l("Priced by"),
    "closures": _l("Closed"),
    "colour_change": _l("Changing the colour in the booth"),
    "cool_down": _l("Cooling down"),
    "country": _l("Country"),
    "currency": _l("Currency"),
    "customary": _l("What the customer's own errands usually cost"),
    "cut_off": _l("Ready by"),
    "day": _l("Day"),
    "day_without_car": _l("A day without the car"),
    "days": _l("Days"),
    "days_for_tyres": _l("Working days that tyre fitting adds"),
    "decision": _l("What we decided where a rule of this place speaks against a job"),
    "deposit": _l("Deposit"),
    "drop_off": _l("Drop-off"),
    "effects": _l("On top, by the powder's effect"),
    "email": _l("E-mail"),
    "extra_bare": _l("Each further surface kept bare"),
    "fill": _l("Share of the room that parts take"),
    "finishes": _l("Finishes"),
    "from": _l("From"),
    "half_days": _l("Days that end early"),
    "handling_note": _l("How to hand over the parts"),
    "heat_limit_min_at_200": _l("Heat that an alloy wheel may have, as minutes at 200 °C"),
    "heat_up": _l("Heating up"),
    "high": _l("At most"),
    "inspection_rule": _l("Film readings are judged by"),
    "least_stay_days": _l("Working days that parts stay at least"),
    "limit_kg": _l("Load"),
    "locale": _l("Language"),
    "longest_stay_days": _l("Working days that parts may stay"),
    "low": _l("At least"),
    "minimum": _l("Smallest order"),
    "minutes": _l("Minutes"),
    "mode": _l("Tax"),
    "name": _l("Name"),
    "new_parts": _l("New small parts"),
    "off": _l("Taking off"),
    "old_coating_check": _l("Checking an old coating"),
    "open_holidays": _l("Public holidays on which we are open"),
    "oven": _l("Oven"),
    "pace": _l("Pace"),
    "parts": _l("Other parts"),
    "per_m2": _l("Per m²"),
    "per_wheel": _l("Per wheel"),
    "percent": _l("Percent"),
    "phone": _l("Telephone"),
    "pickup": _l("Pickup"),
    "place": _l("The place and its rules"),
    "places": _l("Places"),
    "practice": _l("Practice"),
    "pre_bake": _l("Pre-bake"),
    "price": _l("Price"),
    "prices": _l("Prices"),
    "promise_percent": _l("Promises that must hold"),
    "rates": _l("Rates"),
    "refit": _l("Fitting again"),
    "removal": _l("Taking off and fitting"),
    "repairs": _l("Repairs; inspection decides between the least and the most"),
    "rework_rate": _l("Share of parts that come back from inspection"),
    "rounding": _l("Rounding"),
    "routes": _l("By how the old finish comes off"),
    "rush": _l("Rush"),
    "second_colour": _l("A second colour"),
    "shop": _l("The works"),
    "size_mm": _l("Inside, length × width × height"),
    "spread": _l("Spread"),
    "stations": _l("Stations"),
    "strip": _l("Stripping"),
    "strip_late_rate": _l("Share of strip runs that come a day late"),
    "strip_runs": _l("Strip runs"),
    "subdivision": _l("Region, for its public holidays"),
    "systems": _l("On top, by coat system"),
    "tax": _l("Tax"),
    "to": _l("To"),
    "transfer": _l("Share of the powder that stays on the part"),
    "transport": _l("Carrying to the outside tank, once an order"),
    "trip": _l("A trip to us"),
    "tyre_off_on_each": _l("Tyre off and on, each"),
    "unknown": _l("What is on it is not known"),
    "until": _l("Until"),
    "up_to": _l("Up to"),
    "usual": _l("Usually"),
    "week": _l("The week"),
    "wheels": _l("Wheels"),
    "wheels_off_car": _l("Wheel off and on the car, each"),
    "why": _l("What people are told"),
    "work": _l("The floor works"),
    "zone": _l("Time zone"),
    "mon": _l("Monday"),
    "tue": _l("Tuesday"),
    "wed": _l("Wednesday"),
    "thu": _l("Thursday"),
    "fri": _l("Friday"),
    "sat": _l("Saturday"),
    "sun": _l("Sunday"),
}
# words that depend on where they stand
PLACES: dict[str, Any] = {
    "rounding.to": _l("Sums are rounded to"),
    "deposit.from": _l("Asked for from"),
    "strip_runs.days": _l("Leaves on"),
    "customary.days": _l("Working days in our hands"),
    "place.country": _l("Country, two letters"),
    "drop_off.minutes": _l("Length of a window, minutes"),
    "drop_off.places": _l("Customers in a window"),
    "tax.name": _l("What the tax is called"),
    "shop.name": _l("Name of the works"),
}
UNITS: dict[str, Any] = {
    "apart_c": "°C",
    "assume": "in",
    "assume_m2": "m²",
    "colour_change": _l("min"),
    "cool_down": _l("min"),
    "heat_limit_min_at_200": _l("min"),
    "heat_up": _l("min"),
    "limit_kg": "kg",
    "percent": "%",
    "promise_percent": "%",
    "size_mm": "mm",
}
CHOICES: dict[str, tuple[tuple[str, Any], ...]] = {
    "by": tuple((str(one.value), one) for one in PricedBy),
    "mode": tuple((str(one.value), one) for one in TaxMode),
    "inspection_rule": tuple((str(one.value), one) for one in InspectionRule),
}
STATIONS = frozenset(str(one.value) for one in QUEUED)
LONG = frozenset({"address", "decision", "handling_note"})


def label(key: str, path: str = "") -> Any:
    """Return the words for a key, by where it stands; a key without words is shown as it is."""
    roof, _, _ = path.rpartition(".")
    kind = ROOFS.get(roof)
    if kind is not None and key in {str(one.value) for one in kind}:
        return titled(kind(key))
    if path == key and key in STATIONS:
        return titled(PartStage(key))
    for place, word in PLACES.items():
        if path == place or path.endswith(f".{place}"):
            return word
    if key in WORDS:
        return WORDS[key]
    for one in TRADE:
        if key in {str(member.value) for member in one}:
            return titled(one(key))
    return key.replace("_", " ")


def named(path: str) -> str:
    """Return the words for a place in a document: `wheels.bands[3].price`, or a cell's path."""
    words: list[str] = []
    at = ""
    for key in re.sub(r"\[(\d+)\]", r".\1", path).split("."):
        at = f"{at}.{key}" if at else key
        words.append(_("row %(n)s", n=int(key) + 1) if key.isdecimal() else str(label(key, at)))
    return " · ".join(words)


def long_text(key: str) -> bool:
    """Whether a value wants several lines."""
    return key in LONG
