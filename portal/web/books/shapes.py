"""What a document may hold beyond what stands in it: blanks to fill in, by kind of document."""

from collections.abc import Mapping
from enum import Enum
from typing import Any

from portal.craft.answers import NewPart, RouteKind
from portal.craft.parts import Damage, Effect, Item, PartKind, System, WheelBuild
from portal.shop.pricing.part_prices import SINCE_LATER

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
WORK = ("per_wheel", "per_m2")
SPAN = ("low", "usual", "high")
# the columns of lists that may be empty
COLUMNS = {
    "bands": ("up_to", "price"),
    "rates": ("from", "percent"),
    "closures": ("from", "to", "why"),
    "half_days": ("day", "until"),
}
# edited elsewhere: a station's own hours, and when it is out of order, have forms of their own
ELSEWHERE = frozenset({"down", "hours"})


class Blank:
    """A value that may be filled in; `sample` tells of what kind it would be."""

    def __init__(self, sample: Any) -> None:
        self.sample = sample


def spread(kind: str, body: Mapping[str, Any]) -> dict[str, Any]:
    """Return `body` with a blank for everything that may be filled in."""
    if kind == "prices":
        return _prices(body)
    if kind == "week":
        return _week(body)
    if kind == "stations":
        return _stations(body)
    if kind == "shop":
        return {"handling_note": Blank(""), **body} if "handling_note" not in body else dict(body)
    return dict(body)


# the sections of the price list in the order in which the office thinks of them
ORDER = ("wheels", "parts", "finishes", "strip", "removal", "repairs", "rush", "deposit", "tax")


def _prices(body: Mapping[str, Any]) -> dict[str, Any]:
    single = {key: one for key, one in body.items() if not isinstance(one, Mapping)}
    out = {**single, **{key: body.get(key, {}) for key in ORDER}}
    out |= {key: one for key, one in body.items() if key not in out}
    out["wheels"] = _with(body, "wheels", {"builds": _words(WheelBuild)})
    later = [one for one in PartKind if one in SINCE_LATER]
    out["parts"] = _over(_table(later, ("per_m2", "at_least", "assume_m2")), out["parts"])
    out["finishes"] = _with(
        body, "finishes", {"systems": _table(System, WORK), "effects": _table(Effect, WORK)}
    )
    routes = [one for one in RouteKind if one not in {RouteKind.NOTHING, RouteKind.NOT_HERE}]
    out["strip"] = _with(body, "strip", {"routes": _table(routes, WORK)})
    out["removal"] = _with(
        body,
        "removal",
        {"off": _words(Item), "refit": _words(Item), "new_parts": _words(NewPart)},
    )
    out["repairs"] = _over(_table(Damage, SPAN), body.get("repairs", {}))
    return out


def _week(body: Mapping[str, Any]) -> dict[str, Any]:
    out = {"closures": [], "half_days": [], "open_holidays": [], **body}
    for key in ("work", "pickup", "drop_off"):
        days = {day: Blank(["08:00-17:00"]) for day in DAYS}
        out[key] = _over(days, body.get(key, {}))
    out["drop_off"].setdefault("least_stay_days", Blank(0))
    return out


def _stations(body: Mapping[str, Any]) -> dict[str, Any]:
    out = dict(body)
    for key, one in body.items():
        if isinstance(one, Mapping) and key != "oven":
            usual = {name: Blank(1.0) for name in ("places", "minutes", "per_m2", "spread")}
            out[key] = _over(usual, one)
    return out


def _with(body: Mapping[str, Any], key: str, blanks: Mapping[str, Any]) -> dict[str, Any]:
    mine = dict(body.get(key, {}))
    for name, blank in blanks.items():
        mine[name] = _over(blank, mine.get(name, {}))
    return mine


def _over(blanks: Mapping[str, Any], have: Mapping[str, Any]) -> dict[str, Any]:
    """Lay what is there over the blanks, in the order of the blanks."""
    out: dict[str, Any] = {}
    for key, blank in blanks.items():
        value = have.get(key, blank)
        both = isinstance(value, Mapping) and isinstance(blank, Mapping)
        out[key] = _over(blank, value) if both else value
    out.update({key: value for key, value in have.items() if key not in out})
    return out


def _words(kind: type[Enum]) -> dict[str, Any]:
    return {str(one.value): Blank("") for one in kind}


def _table(kind: Any, columns: tuple[str, ...]) -> dict[str, Any]:
    return {str(one.value): {name: Blank("") for name in columns} for one in kind}
