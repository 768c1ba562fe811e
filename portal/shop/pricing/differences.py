"""What really arrived, or is wanted now, against what was ordered."""

from dataclasses import dataclass, fields, replace

from portal.craft.damaged import how_many
from portal.craft.parts import (
    Bringing,
    Closed,
    Damage,
    FinishChoice,
    Layer,
    Making,
    Metal,
    PartKind,
    PartSet,
    Titled,
    WheelBuild,
)


class DifferenceKind(Titled):
    """The aspect in which parts differ; the first that applies names the finding."""

    MISSING = "missing", "Not brought"
    LOST = "lost", "Lost while with us"
    MORE = "more", "More than ordered"
    WAY = "way", "Brought another way"
    FINISH = "finish", "Another colour or finish"
    DAMAGE = "damage", "Damage"
    LAYERS = "layers", "Different finish on it"
    FITTED = "fitted", "Something still fitted"
    METAL = "metal", "Different metal or build"
    SIZE = "size", "Different size"
    CLOSED = "closed", "Closed or sealed"
    CHECK = "check", "What a test found"
    OTHER = "other", "Something else"


# what a difference may say of parts; how many they are and how they are called it never does
ASPECTS = tuple(
    one.name
    for one in fields(PartSet)
    if one.name not in ("key", "kind", "count", "removers", "note", "hang")
)


@dataclass(frozen=True, slots=True)
class Difference:
    """Parts `numbers` of the set `set_key` are really as `arrived` says, or are not there at all.

    `arrived.count` is the count of `numbers`, and `changed` names what of it is said; a difference
    from before it was kept says all of it, but the finish. `missing`: the order goes on without
    them, because they did not come or, where `lost` says so, because we lost them (`note` says
    how). `bag` is a hardware bag that we lost. `more`: they came beside those that were ordered.
    `bringing` is another way in which the whole order was brought.
    """

    set_key: str
    numbers: tuple[int, ...]
    arrived: PartSet
    missing: bool = False
    note: str = ""
    lost: bool = False
    more: bool = False
    changed: tuple[str, ...] = ()
    bringing: Bringing | None = None
    bag: str = ""

    def of(self, numbers: tuple[int, ...]) -> "Difference":
        """Return the difference for some of its parts."""
        return replace(self, numbers=numbers)


def changed_between(declared: PartSet, arrived: PartSet) -> tuple[str, ...]:
    """Return the aspects in which parts differ from what was told of them."""
    named = tuple(one for one in ASPECTS if getattr(declared, one) != getattr(arrived, one))
    # as many of fewer parts is another figure for the same damage
    same_damage = _counts(declared) == _counts(arrived)
    return tuple(one for one in named if one != "damaged" or not same_damage)


def patched(declared: PartSet, difference: Difference) -> PartSet:
    """Return parts as they really are: what was told of them, but for what differs."""
    real = difference.arrived
    if not difference.changed:
        named = tuple(one for one in ASPECTS if one != "finish")
    else:
        named = difference.changed
    if "damage" in named or "damaged" in named:
        named = (*named, "damage", "damaged", "damaged_which")
    return replace(declared, **{one: getattr(real, one) for one in named})


def kinds_of(declared: PartSet, difference: Difference) -> tuple[DifferenceKind, ...]:
    """Return every aspect in which `difference` departs from what was declared."""
    if difference.bag:
        return (DifferenceKind.OTHER,)
    if difference.missing:
        return (DifferenceKind.LOST if difference.lost else DifferenceKind.MISSING,)
    if difference.more:
        return (DifferenceKind.MORE,)
    real = difference.arrived
    sides = (
        (DifferenceKind.WAY, difference.bringing is not None),
        (DifferenceKind.FINISH, _finish(real) != _finish(declared)),
        (DifferenceKind.CHECK, real.found != declared.found),
        (DifferenceKind.DAMAGE, _counts(real) != _counts(declared)),
        (DifferenceKind.LAYERS, _on_it(real) != _on_it(declared)),
        (DifferenceKind.FITTED, _fitted(real) != _fitted(declared)),
        (DifferenceKind.METAL, _made_of(real) != _made_of(declared)),
        (DifferenceKind.SIZE, _size(real) != _size(declared)),
        (DifferenceKind.CLOSED, set(real.closed) != set(declared.closed)),
        (DifferenceKind.OTHER, bool(difference.note)),
    )
    return tuple(kind for kind, differs in sides if differs)


def only_fills(declared: PartSet, difference: Difference) -> bool:
    """Return whether a difference says only what the customer had answered with "don't know"."""
    real = difference.arrived
    if difference.missing or difference.more or difference.note or difference.bringing:
        return False
    open_size = _size(replace(declared, rim_text="", tyre_text="")) == _size(_BLANK)
    return all(
        (
            open_size or _size(declared) == _size(real),
            declared.build in (None, WheelBuild.UNKNOWN, real.build),
            declared.metal in (Metal.UNKNOWN, real.metal),
            declared.made in (Making.UNKNOWN, real.made),
            _fills(declared.layers, real.layers),
            declared.closed in (real.closed, (Closed.UNKNOWN,)),
            declared.found == real.found,
            declared.yellow_to_red or not real.yellow_to_red,
            set(declared.damage) == set(real.damage),
            _fitted(declared) == _fitted(real),
            _finish(declared) == _finish(real),
        )
    )


def _fills(declared: tuple[Layer, ...], real: tuple[Layer, ...]) -> bool:
    """Return whether layers say only what stood as "don't know" among those that were told."""
    if declared == real:
        return True
    return Layer.UNKNOWN in declared and {*declared} - {Layer.UNKNOWN} <= {*real}


_BLANK = PartSet("A", PartKind.OTHER, 1)


def _counts(one: PartSet) -> dict[Damage, int]:
    return {damage: how_many(one, damage) for damage in one.damage}


def _fitted(one: PartSet) -> tuple[object, ...]:
    return (frozenset(one.fitted), one.new_tyres)


def _finish(one: PartSet) -> FinishChoice | None:
    return one.finish


def _on_it(one: PartSet) -> tuple[object, ...]:
    return (one.layers, one.yellow_to_red)


def _made_of(one: PartSet) -> tuple[object, ...]:
    return (one.metal, one.build, one.made)


def _size(one: PartSet) -> tuple[object, ...]:
    return (one.rim, one.tyre, one.rim_text, one.tyre_text, one.size_mm)
