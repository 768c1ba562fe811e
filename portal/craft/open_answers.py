"""Open answers ("don't know"): their usual case, and the one that takes longest.

An open answer turns the date into a range. The promise is the longest case.
"""

from dataclasses import replace

from portal.craft.old_finishes import route
from portal.craft.parts import Layer, PartKind, PartSet, Rim, Titled, WheelBuild


class Slow(Titled):
    """What causes the later day of a range."""

    LAYERS = "layers", "Old finish"
    CHROME = "chrome", "Chrome plating"
    COLOUR = "colour", "Colour"
    SIZE = "size", "Size"
    SEVERAL = "several", "Several things"


# the largest rims that come in any number; the price list goes on beyond (common practice)
LARGE_RIM = Rim(diameter_code=22, width_code=10)
# parts that are often chrome-plated and don't say so by their build (common practice)
OFTEN_CHROMED = frozenset({PartKind.BUMPER, PartKind.TUBE, PartKind.FRAME})
# what hides another finish, or is none, doesn't count as the slow case
_CANDIDATES = tuple(
    layer
    for layer in Layer
    if layer not in (Layer.PEELABLE, Layer.WRAP, Layer.BARE, Layer.UNKNOWN, Layer.CHROME)
)


def layers_open(one: PartSet) -> bool:
    """Whether the old finish is not known."""
    return Layer.UNKNOWN in one.layers


def size_open(one: PartSet) -> bool:
    """Whether the size is not known."""
    if one.kind is PartKind.WHEEL:
        return one.rim is None and one.tyre is None
    return one.size_mm is None and one.kind is not PartKind.CALIPER


def may_be_chrome(one: PartSet) -> bool:
    """Whether an open answer can turn out to be chrome plating.

    Chrome is visible: a customer who knows the old finish, or the build of the wheel, would name
    it.
    """
    if not layers_open(one):
        return False
    if one.kind is PartKind.WHEEL:
        return one.build in (None, WheelBuild.UNKNOWN)
    return one.kind in OFTEN_CHROMED


def slow_case(one: PartSet) -> PartSet:
    """Return the set with its open answers set to the case that takes longest."""
    if size_open(one) and one.kind is PartKind.WHEEL:
        one = replace(one, rim=LARGE_RIM)
    if not layers_open(one):
        return one
    candidates = [*_CANDIDATES, Layer.CHROME] if may_be_chrome(one) else _CANDIDATES
    every = [one, *(_known_as(one, layer) for layer in candidates)]
    return max(every, key=lambda case: route(case).outside_days)


def usual_case(one: PartSet, usual: tuple[Layer, ...]) -> PartSet:
    """Return the set with the usual old finish."""
    return _known_as(one, *usual) if layers_open(one) else one


def reasons(one: PartSet) -> frozenset[Slow]:
    """Return what can make the set take longer than usual."""
    found = set()
    if may_be_chrome(one):
        found.add(Slow.CHROME)
    elif layers_open(one):
        found.add(Slow.LAYERS)
    if one.colour_open:
        found.add(Slow.COLOUR)
    if size_open(one):
        found.add(Slow.SIZE)
    return frozenset(found)


def _known_as(one: PartSet, *layers: Layer) -> PartSet:
    others = tuple(layer for layer in one.layers if layer is not Layer.UNKNOWN)
    return replace(one, layers=(*others, *(new for new in layers if new not in others)))
