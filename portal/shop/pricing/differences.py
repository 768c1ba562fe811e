"""What really arrived against what was declared, and how the order is changed by it.

A difference concerns some parts of one set. When it concerns all of them the set is amended; when
it concerns a few, these become a set of their own, because only equal parts are finished alike.
"""

from dataclasses import dataclass, replace

from portal.craft.damaged import how_many, only
from portal.craft.parts import (
    Closed,
    Damage,
    Declared,
    Layer,
    Making,
    Metal,
    PartKind,
    PartSet,
    Remover,
    Titled,
    WheelBuild,
)


class DifferenceKind(Titled):
    """The aspect in which parts differ; the first that applies names the finding."""

    MISSING = "missing", "Not brought"
    LOST = "lost", "Lost while with us"
    DAMAGE = "damage", "Damage"
    LAYERS = "layers", "Different finish on it"
    FITTED = "fitted", "Something still fitted"
    METAL = "metal", "Different metal or build"
    SIZE = "size", "Different size"
    CLOSED = "closed", "Closed or sealed"
    CHECK = "check", "What a test found"
    OTHER = "other", "Something else"


@dataclass(frozen=True, slots=True)
class Difference:
    """Parts `numbers` of the set `set_key` are really as `arrived` says, or are not there at all.

    `arrived.count` is the count of `numbers`. `missing`: the order goes on without them, because
    they did not come or, where `lost` says so, because we lost them (`note` says how).
    """

    set_key: str
    numbers: tuple[int, ...]
    arrived: PartSet
    missing: bool = False
    note: str = ""
    lost: bool = False


def kinds_of(declared: PartSet, difference: Difference) -> tuple[DifferenceKind, ...]:
    """Return every aspect in which `difference` departs from what was declared."""
    if difference.missing:
        return (DifferenceKind.LOST if difference.lost else DifferenceKind.MISSING,)
    real = difference.arrived
    sides = (
        (DifferenceKind.CHECK, real.found != declared.found),
        (DifferenceKind.DAMAGE, _counts(real) != _counts(declared)),
        (DifferenceKind.LAYERS, _on_it(real) != _on_it(declared)),
        (DifferenceKind.FITTED, set(real.fitted) != set(declared.fitted)),
        (DifferenceKind.METAL, _made_of(real) != _made_of(declared)),
        (DifferenceKind.SIZE, _size(real) != _size(declared)),
        (DifferenceKind.CLOSED, set(real.closed) != set(declared.closed)),
        (DifferenceKind.OTHER, bool(difference.note)),
    )
    return tuple(kind for kind, differs in sides if differs)


def only_fills(declared: PartSet, difference: Difference) -> bool:
    """Return whether a difference says only what the customer had answered with "don't know"."""
    real = difference.arrived
    if difference.missing or difference.note:
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
            set(declared.fitted) == set(real.fitted),
        )
    )


def _fills(told: tuple[Layer, ...], real: tuple[Layer, ...]) -> bool:
    """Return whether layers say only what stood as "don't know" among those that were told."""
    if told == real:
        return True
    return Layer.UNKNOWN in told and {*told} - {Layer.UNKNOWN} <= {*real}


_BLANK = PartSet("A", PartKind.OTHER, 1)


def put_into(
    declared: Declared, difference: Difference, numbers_of_set: tuple[int, ...]
) -> tuple[Declared, str]:
    """Return the order as it really is, and the key of the set that the parts now belong to.

    `numbers_of_set` are all the parts of the set that the order still counts on.
    """
    own = next(s for s in declared.sets if s.key == difference.set_key)
    # parts that are given up by this very answer may be counted off already
    every = sorted({*numbers_of_set, *difference.numbers})
    rest = [at for at, n in enumerate(every) if n not in difference.numbers]
    gone = () if difference.missing else (_real(own, difference),)
    if not rest:
        put = tuple(replace(one, key=own.key) for one in gone)
        key = own.key
    else:
        key = own.key if difference.missing else _free_key(declared)
        put = (only(own, rest), *(replace(one, key=key) for one in gone))
    sets: list[PartSet] = []
    for one in declared.sets:
        sets += put if one.key == own.key else (one,)
    return replace(declared, sets=tuple(sets)), key


def _counts(one: PartSet) -> dict[Damage, int]:
    return {damage: how_many(one, damage) for damage in one.damage}


def _real(own: PartSet, difference: Difference) -> PartSet:
    real = difference.arrived
    # whoever brought an undeclared item left it for us to take off
    removers = dict(own.removers)
    for item in real.fitted:
        if item not in own.fitted:
            removers[item] = Remover.US
    return replace(
        real, count=len(difference.numbers), removers=removers, finish=own.finish, note=own.note
    )


def _free_key(declared: Declared) -> str:
    taken = {s.key for s in declared.sets}
    return next(
        letter
        for letter in "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
        if letter not in {k.upper() for k in taken}
    )


def _on_it(one: PartSet) -> tuple[object, ...]:
    return (one.layers, one.yellow_to_red)


def _made_of(one: PartSet) -> tuple[object, ...]:
    return (one.metal, one.build, one.made)


def _size(one: PartSet) -> tuple[object, ...]:
    return (one.rim, one.tyre, one.rim_text, one.tyre_text, one.size_mm)
