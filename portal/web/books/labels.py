"""Labels for the keys of the shop's documents, all of them translatable."""

import re
from typing import Any

from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l

from portal.craft.answers import NewPart, RouteKind
from portal.craft.parts import Damage, Effect, Item, PartKind, System, WheelBuild
from portal.shop.pricing.part_prices import PricedBy
from portal.shop.pricing.price_list import TaxMode
from portal.shop.route import PartStage
from portal.shop.scheduling.station import QUEUED
from portal.shop.works import InspectionRule
from portal.web.kit.i18n.languages import label

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
    "address": _l("Address, one line per row"),
    "apart_c": _l("Bakes in one load may differ by"),
    "assume": _l("Size we assume until we know it"),
    "assume_m2": _l("Area we assume until we know the size"),
    "at_least": _l("At least"),
    "back_after_days": _l("Back after (working days)"),
    "back_at": _l("Back at"),
    "bands": _l("Price by size"),
    "builds": _l("Extra, by type of wheel"),
    "besides": _l("Other charges"),
    "by": _l("Price by"),
    "closures": _l("Closed"),
    "colour_change": _l("Changing the colour in the booth"),
    "cool_down": _l("Cooling down"),
    "country": _l("Country"),
    "currency": _l("Currency"),
    "customary": _l("The customer's own costs, usual figures"),
    "cut_off": _l("Ready by"),
    "day": _l("Day"),
    "day_without_car": _l("A day without the car"),
    "days": _l("Days"),
    "days_for_tyres": _l("Extra working days for tyre fitting"),
    "decision": _l("Our decision where a rule in this country is against a job"),
    "deposit": _l("Deposit"),
    "drop_off": _l("Drop-off"),
    "effects": _l("Extra, by powder effect"),
    "email": _l("E-mail"),
    "extra_bare": _l("Each extra surface kept bare"),
    "fill": _l("Share of the oven space that parts fill"),
    "finishes": _l("Finishes"),
    "from": _l("From"),
    "half_days": _l("Days with an early end"),
    "handling_note": _l("Drop-off instructions"),
    "heat_limit_min_at_200": _l("Most heat for an alloy wheel, in minutes at 200 °C"),
    "heat_up": _l("Heating up"),
    "high": _l("At most"),
    "inspection_rule": _l("Rule for film thickness"),
    "least_stay_days": _l("Parts stay at least (working days)"),
    "limit_kg": _l("Load"),
    "locale": _l("Language"),
    "longest_stay_days": _l("Parts may stay at most (working days)"),
    "low": _l("At least"),
    "minimum": _l("Minimum order"),
    "minutes": _l("Minutes"),
    "mode": _l("Tax"),
    "name": _l("Name"),
    "new_parts": _l("New small parts"),
    "off": _l("Taking off (prices)"),
    "old_coating_check": _l("Testing an old finish"),
    "open_holidays": _l("Public holidays on which we are open"),
    "oven": _l("Oven"),
    "pace": _l("Pace"),
    "parts": _l("Other parts"),
    "per_m2": _l("Per m²"),
    "per_wheel": _l("Per wheel"),
    "percent": _l("Percent"),
    "phone": _l("Phone"),
    "pickup": _l("Pickup"),
    "place": _l("Country and rules"),
    "places": _l("Places"),
    "practice": _l("Rules"),
    "pre_bake": _l("Pre-bake (drives gas out of the metal)"),
    "price": _l("Price"),
    "prices": _l("Prices"),
    "promise_percent": _l("Promises to keep, in percent"),
    "rates": _l("Rates"),
    "refit": _l("Refitting"),
    "removal": _l("Taking off and fitting"),
    "repairs": _l("Repairs: least, usual and most (inspection decides)"),
    "rework_rate": _l("Share of parts that fail inspection"),
    "rounding": _l("Rounding"),
    "routes": _l("By stripping method"),
    "rush": _l("Rush job"),
    "second_colour": _l("A second colour"),
    "shop": _l("Your works"),
    "size_mm": _l("Inside, length × width × height"),
    "spread": _l("Spread"),
    "stations": _l("Stations"),
    "strip": _l("Stripping"),
    "strip_late_rate": _l("Share of strip runs that come a day late"),
    "strip_runs": _l("Strip runs"),
    "subdivision": _l("Region (for public holidays)"),
    "systems": _l("Extra, by number and kind of coats"),
    "tax": _l("Tax"),
    "to": _l("To"),
    "transfer": _l("Share of the powder that stays on the part"),
    "transport": _l("Transport to the stripping company, once per order"),
    "trip": _l("A trip to us"),
    "tyre_off_on_each": _l("Tyre off and on, each"),
    "unknown": _l("Old finish not known"),
    "until": _l("Until"),
    "up_to": _l("Up to"),
    "usual": _l("Usually"),
    "week": _l("Opening hours"),
    "wheels": _l("Wheels"),
    "wheels_off_car": _l("Wheel off and on the car, each"),
    "why": _l("What customers are told"),
    "work": _l("Floor hours"),
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
    "rounding.to": _l("Round sums to"),
    "deposit.from": _l("Deposit asked for from"),
    "strip_runs.days": _l("Leaves on"),
    "customary.days": _l("Working days at the works"),
    "place.country": _l("Country, two letters"),
    "drop_off.minutes": _l("Length of a time slot, minutes"),
    "drop_off.places": _l("Customers per time slot"),
    "tax.name": _l("Name of the tax"),
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


def field_label(key: str, path: str = "") -> Any:
    """Return the label of a key, by its path; a key without a label is returned as it is."""
    roof, _, _ = path.rpartition(".")
    kind = ROOFS.get(roof)
    if kind is not None and key in {str(one.value) for one in kind}:
        return label(kind(key))
    if path == key and key in STATIONS:
        return label(PartStage(key))
    for place, word in PLACES.items():
        if path == place or path.endswith(f".{place}"):
            return word
    if key in WORDS:
        return WORDS[key]
    for one in TRADE:
        if key in {str(member.value) for member in one}:
            return label(one(key))
    return key.replace("_", " ")


def named(path: str) -> str:
    """Return the label of a path in a document: `wheels.bands[3].price`, or a cell's path."""
    words: list[str] = []
    at = ""
    for key in re.sub(r"\[(\d+)\]", r".\1", path).split("."):
        at = f"{at}.{key}" if at else key
        words.append(
            _("row %(n)s", n=int(key) + 1) if key.isdecimal() else str(field_label(key, at))
        )
    return " · ".join(words)


def long_text(key: str) -> bool:
    """Return whether a value needs several lines."""
    return key in LONG
