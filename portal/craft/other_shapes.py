"""The shape of parts that are no wheels, from rough length × width × height in mm.

All of it common practice: a rough size gives a rough area, and the answer says how rough.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from portal.craft.parts import Making, PartKind
from portal.craft.revolve import ring_mm2
from portal.craft.tables import toml_table

_SHAPES = toml_table("shapes.toml")

Size = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class OtherShape:
    """One part: coated area in mm² and metal volume in mm³."""

    area_mm2: float
    volume_mm3: float


def other_shape(
    kind: PartKind, size: Size, made: Making = Making.UNKNOWN, *, iron: bool = False
) -> OtherShape:
    """Return the shape of one part of this kind; the order of the three lengths doesn't matter
    where the kind has no top and bottom. `made` counts where the kind says nothing of its shape,
    and `iron` where it is built thinner of iron than of aluminium.
    """
    if kind is PartKind.OTHER:
        return _other(size, made)
    if kind is PartKind.CALIPER:
        return _caliper(size, iron=iron)
    return _SHAPE_OF[kind](size)


def _tube(size: Size) -> OtherShape:
    """Outside of a round tube, its two end faces, and a hand's breadth inside is left out."""
    length, *across = sorted(size, reverse=True)
    diameter = sum(across) / 2
    wall = min(_SHAPES["tube"]["wall_mm"], diameter / 2)
    end = ring_mm2(diameter / 2, diameter / 2 - wall)
    return OtherShape(math.pi * diameter * length + 2 * end, end * length)


def _plate(size: Size) -> OtherShape:
    """Both sides and all edges."""
    length, width, thick = sorted(size, reverse=True)
    area = 2 * (length * width + length * thick + width * thick)
    return OtherShape(area, length * width * thick)


def _box(size: Size) -> OtherShape:
    """Five walls inside and out: a cover is open on its largest side."""
    length, width, height = sorted(size, reverse=True)
    one_side = length * width + 2 * height * (length + width)
    return OtherShape(2 * one_side, one_side * _SHAPES["box"]["wall_mm"])


def _caliper(size: Size, *, iron: bool) -> OtherShape:
    length, width, height = size
    row = _SHAPES["caliper"]
    solid = row["solid_share_iron"] if iron else row["solid_share"]
    hull = 2 * (length * width + length * height + width * height)
    return OtherShape(hull * row["hull_share"], length * width * height * solid)


def _bumper(size: Size) -> OtherShape:
    """A bent sheet: height and returns along its curve, both sides."""
    length, *across = sorted(size, reverse=True)
    row = _SHAPES["bumper"]
    one_side = length * row["curve"] * sum(across)
    return OtherShape(2 * one_side, one_side * row["wall_mm"])


def _railing(size: Size) -> OtherShape:
    """Two square rails, two end posts, round bars between them."""
    length, *across = sorted(size, reverse=True)
    height = across[0]
    row = _SHAPES["railing"]
    rails = 2 * (length + height) * 4 * row["rail_mm"]
    bars = max(int(length / row["pitch_mm"]) - 1, 0)
    inner = max(height - 2 * row["rail_mm"], 0.0)
    rods = bars * inner * math.pi * row["bar_mm"]
    rod_metal = bars * inner * math.pi / 4 * row["bar_mm"] ** 2
    return OtherShape(rails + rods, rails * row["wall_mm"] + rod_metal)


def _frame(size: Size) -> OtherShape:
    """A bicycle's tubes; a wide frame has a second set of them."""
    length, width, height = sorted(size, reverse=True)[0], min(size), sorted(size)[1]
    row = _SHAPES["frame"]
    tubes = row["tube_share"] * (length + height)
    if width > row["wide_from_mm"]:
        tubes *= row["wide_share"]
    area = tubes * math.pi * row["tube_mm"]
    return OtherShape(area, area * row["wall_mm"])


def _chair(size: Size) -> OtherShape:
    return _seat(size, _SHAPES["chair"])


def _bench(size: Size) -> OtherShape:
    return _seat(size, _SHAPES["bench"])


def _table(size: Size) -> OtherShape:
    """A top of slats, mesh or sheet on four legs and a frame."""
    length, width, height = size
    row = _SHAPES["table"]
    return _furniture(length * width, 4 * height + 2 * (length + width), row)


def _seat(size: Size, row: Mapping[str, Any]) -> OtherShape:
    """Seat and back on tubes: legs, back posts, a frame round each, two arms."""
    length, depth, height = size
    seat_high = height / 2
    panels = length * depth + length * (height - seat_high)
    legs = 4 * seat_high + 2 * (height - seat_high)
    arms = 2 * depth + height / 2
    return _furniture(panels, legs + 2 * (length + depth) + arms, row)


def _furniture(panels: float, tubes: float, row: Mapping[str, Any]) -> OtherShape:
    """Panels are coated on both sides as far as they are metal, tubes all round."""
    sheet = panels * row["metal_share"]
    round_tubes = tubes * math.pi * row["tube_mm"]
    volume = (sheet + round_tubes) * row["wall_mm"]
    return OtherShape(2 * sheet + round_tubes, volume)


def _other(size: Size, made: Making) -> OtherShape:
    """Only the space it takes and how it is built are known."""
    length, width, height = size
    row = _SHAPES["other"][made.value]
    if made is Making.TUBES:
        tubes = row["edges"] * (length + width + height)
        area = tubes * math.pi * min(row["tube_mm"], *size)
        return OtherShape(area, area * row["wall_mm"])
    hull = 2 * (length * width + length * height + width * height)
    area = hull * row["hull_share"]
    solid = length * width * height
    volume = min(area / 2 * row["wall_mm"], solid) if "wall_mm" in row else solid * row["solid"]
    return OtherShape(area, volume)


_SHAPE_OF: dict[PartKind, Callable[[Size], OtherShape]] = {
    PartKind.TUBE: _tube,
    PartKind.PLATE: _plate,
    PartKind.BOX: _box,
    PartKind.BUMPER: _bumper,
    PartKind.RAILING: _railing,
    PartKind.FRAME: _frame,
    PartKind.CHAIR: _chair,
    PartKind.TABLE: _table,
    PartKind.BENCH: _bench,
}
