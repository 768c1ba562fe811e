"""What must come off a part: why, with which tool, in which order, by whom, and what it needs."""

from collections.abc import Mapping
from typing import Any

from portal.craft.answers import (
    COMMON_PRACTICE,
    NewPart,
    Removal,
    RouteKind,
    StripRoute,
    remover_of,
)
from portal.craft.bringing import NewTyres
from portal.craft.facts import sentence_of
from portal.craft.messages import Message
from portal.craft.old_finishes import route
from portal.craft.parts import Bringing, Item, PartKind, PartSet, Remover
from portal.craft.tables import sentence, toml_table

# the rows stand in the order of work
_ROWS: tuple[Mapping[str, Any], ...] = tuple(toml_table("removals.toml")["item"])
_ORDER = tuple(dict.fromkeys(Item(row["item"]) for row in _ROWS))

_WHEEL_ITEMS = (
    Item.TYRE,
    Item.WEIGHTS,
    Item.VALVE,
    Item.SENSOR,
    Item.CENTRE_CAP,
    Item.LUG_COVERS,
    Item.SPACERS,
    Item.SPIGOT_RINGS,
    Item.BADGES,
    Item.BEARINGS,
)
_ITEMS_OF = {
    PartKind.WHEEL: _WHEEL_ITEMS,
    PartKind.CALIPER: (Item.SEALS, Item.BADGES),
    PartKind.FRAME: (Item.BEARINGS, Item.SEALS, Item.BADGES),
}


def items_for(kind: PartKind) -> tuple[Item, ...]:
    """Return the items that can be fitted to this kind of part, in the order of asking."""
    return _ITEMS_OF.get(kind, (Item.BADGES, Item.SEALS, Item.BEARINGS))


def removals(
    part_set: PartSet, bringing: Bringing | None, way: StripRoute | None = None
) -> tuple[Removal, ...]:
    """Return one answer for each item fitted to `part_set`, in the order of work. Never raise.

    `way` is how its old finish comes off, where that is known already.
    """
    way = way or route(part_set)
    fitted = [item for item in _ORDER if item in part_set.fitted]
    return tuple(
        _removal(item, order, part_set, way, bringing) for order, item in enumerate(fitted, start=1)
    )


def who_removes(item: Item, part_set: PartSet, bringing: Bringing | None) -> Remover:
    """Return who takes an item off, whatever it is taken off for."""
    row = _row(item, part_set.kind)
    return remover_of(part_set, item, _who_may(row["hands"], bringing))


def _removal(
    item: Item, order: int, part_set: PartSet, way: StripRoute, bringing: Bringing | None
) -> Removal:
    row = _row(item, part_set.kind)
    why = _reasons(row, way)
    return Removal(
        item=item,
        must=True,
        order=order,
        why=why,
        tool=sentence(row["tool"]),
        step=sentence(row["step"]),
        happens=_happens(item, row, part_set.new_tyres),
        who_may=_who_may(row["hands"], bringing),
        home=sentence_of(row, "home"),
        new_parts=_new_parts(item, row, part_set.fitted),
        minutes=float(row["minutes"]),
        source=Message(row["source"]) if "source" in row else COMMON_PRACTICE,
        before=_before(order, part_set.fitted),
        short=sentence_of(row, "short"),
        back=_goes_back(item, part_set.new_tyres, bringing),
    )


def _row(item: Item, kind: PartKind) -> Mapping[str, Any]:
    """Return the row of an item: that of this kind of part, else the one for any kind."""
    rows = [row for row in _ROWS if row["item"] == item and kind in row.get("kind", (kind,))]
    return max(rows, key=lambda row: "kind" in row)


# what a tyre shop fits with the tyre: whoever puts on the tyre puts these on
WITH_THE_TYRE = frozenset({Item.TYRE, Item.WEIGHTS, Item.VALVE, Item.SENSOR})


def _goes_back(item: Item, tyres: NewTyres, bringing: Bringing | None) -> bool:
    """Return whether the shop refits what it removes: not on parts that leave it bare."""
    if bringing is Bringing.BARE:
        return False
    return tyres is not NewTyres.LATER or item not in WITH_THE_TYRE


def _happens(item: Item, row: Mapping[str, Any], tyres: NewTyres) -> Message:
    if tyres is NewTyres.LATER and "happens_later" in row:
        return sentence(row["happens_later"])
    if tyres is not NewTyres.SAME and item is Item.TYRE:
        return sentence(row["happens_new"])
    return sentence(row["happens"])


def _reasons(row: Mapping[str, Any], way: StripRoute) -> tuple[Message, ...]:
    """Return the reasons that hold on this strip route; one always does."""
    holds = {
        "heat": True,
        "blast": RouteKind.BLAST in way.kinds,
        "chemistry": way.outside,
        "coverage": True,
        "fit": True,
    }
    return tuple(sentence(text) for reason, text in row["reasons"].items() if holds[reason])


def _who_may(hands: str, bringing: Bringing | None) -> tuple[Remover, ...]:
    """Return who can remove it, the default first.

    Brake hydraulics and bearings are a workshop's trade and not done here; "you" means you or a
    workshop of yours.
    """
    if hands == "workshop":
        return (Remover.YOU,)
    if hands == "shop" and bringing is Bringing.WHOLE_CAR:
        return (Remover.US,)  # a car can't be driven here on wheels without tyres
    ours_first = bringing is Bringing.WHOLE_CAR or (
        hands == "shop" and bringing is not Bringing.BARE
    )
    return (Remover.US, Remover.YOU) if ours_first else (Remover.YOU, Remover.US)


def _new_parts(item: Item, row: Mapping[str, Any], fitted: tuple[Item, ...]) -> tuple[NewPart, ...]:
    """Return what is replaced for this item on refit; no part is named by two items."""
    if item is Item.VALVE and Item.SENSOR in fitted:
        # a sensor's own valve is metal and used again; its seal and core come with the sensor
        return ()
    if item is Item.TYRE:
        weights = () if Item.WEIGHTS in fitted else (NewPart.WEIGHTS,)
        untold = Item.VALVE not in fitted and Item.SENSOR not in fitted
        return (*weights, NewPart.VALVE) if untold else weights
    return tuple(NewPart(name) for name in row.get("new_parts", ()))


def _before(order: int, fitted: tuple[Item, ...]) -> Message | None:
    """Return what comes before the first step: a tyre must be without pressure."""
    if order > 1 or Item.TYRE not in fitted:
        return None
    return Message(
        "First let all the air out of the tyre. Unscrew the core, the small spring pin inside "
        "the valve, with a valve-core tool. Keep your face away and wait until the hissing "
        "stops."
    )
