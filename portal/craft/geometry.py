"""The coated area and the oven space of a part, each with its uncertainty.

m², mm, kg. Wheels are built on the standard's rim diameters, other parts on rough dimensions.
"""

import math

from portal.craft.answers import Surface
from portal.craft.facts import IRON, base_metal
from portal.craft.markings import read_rim, rim_from_tyre
from portal.craft.messages import CraftError, Message
from portal.craft.other_shapes import Size, other_shape
from portal.craft.parts import LONGEST_MM, PartKind, PartSet, Rim
from portal.craft.reading import number_span
from portal.craft.tables import toml_table
from portal.craft.wheel_shape import wheel_shape

_SHAPES = toml_table("shapes.toml")
_UNSURE = _SHAPES["uncertainty"]


def surface(part_set: PartSet) -> Surface | None:
    """Return area, uncertainty, envelope and mass of one part, or None while no size is known.

    Raise CraftError for a length that is not a positive number, or longer than any part here.
    """
    if part_set.kind is PartKind.WHEEL:
        return _wheel(part_set)
    return _other(part_set)


def usual_size(kind: PartKind) -> Size | None:
    """Return the size in mm that is assumed until somebody measures, where there is one."""
    return None if kind is PartKind.WHEEL else _usual(_SHAPES[kind.value])


def usual_longest_mm(kind: PartKind) -> tuple[float, float]:
    """Return the range of the longest side of such a part, in mm."""
    low, high = _SHAPES["plausible"].get(kind.value, (0, LONGEST_MM))
    return (float(low), float(high))


def _wheel(part_set: PartSet) -> Surface | None:
    rim, assumed = _rim_of(part_set)
    if rim is None:
        return None
    shape = wheel_shape(part_set, rim)
    unsure = math.hypot(_UNSURE["contour"], _UNSURE["face"])
    if assumed:
        unsure = math.hypot(unsure, _UNSURE["assumed_width"])
    return Surface(
        area_m2=shape.area_mm2 / 1e6,
        uncertainty=round(unsure, 3),
        envelope_mm=shape.envelope_mm,
        mass_kg=_mass_kg(part_set, shape.volume_mm3),
        assumed=assumed,
    )


def _rim_of(part_set: PartSet) -> tuple[Rim | None, tuple[Message, ...]]:
    if part_set.rim is not None:
        read = read_rim(part_set.rim_text) if part_set.rim_text else None
        guessed = read is not None and read.rim == part_set.rim and _width_guessed(read.assumed)
        return (part_set.rim, (_width_said(part_set.rim),) if guessed else ())
    if part_set.tyre is not None:
        rim = rim_from_tyre(part_set.tyre)
        return (rim, (_width_said(rim),))
    return (None, ())


def _width_guessed(assumed: tuple[Message, ...]) -> bool:
    return any("width" in said.values for said in assumed)


def _width_said(rim: Rim) -> Message:
    return Message("We assume a rim {width} inches wide.", width=rim.width_code)


def _other(part_set: PartSet) -> Surface | None:
    row = _SHAPES[part_set.kind.value]
    size = part_set.size_mm or _usual(row)
    if size is None:
        return None
    if not all(math.isfinite(length) and length > 0 for length in size):
        raise CraftError(Message("Enter a length above 0."), key="size_mm")
    if max(size) > LONGEST_MM:
        raise CraftError(number_span(0, LONGEST_MM), key="size_mm")
    shape = other_shape(part_set.kind, size, part_set.made, iron=base_metal(part_set) in IRON)
    loose = part_set.kind is PartKind.OTHER
    unsure = _UNSURE[f"other_{part_set.made}" if loose else part_set.kind.value]
    assumed: tuple[Message, ...] = ()
    if part_set.size_mm is None:
        unsure = math.hypot(unsure, _UNSURE["assumed_size"])
        assumed = (Message("No size given, so we assume the usual one."),)
    return Surface(
        area_m2=shape.area_mm2 / 1e6,
        uncertainty=round(unsure, 3),
        envelope_mm=size,
        mass_kg=_mass_kg(part_set, shape.volume_mm3),
        assumed=assumed,
    )


def _usual(row: dict[str, list[float]]) -> Size | None:
    usual = row.get("usual_mm")
    return (float(usual[0]), float(usual[1]), float(usual[2])) if usual else None


def _mass_kg(part_set: PartSet, volume_mm3: float) -> float:
    density = _SHAPES["density"][base_metal(part_set).value]
    return round(float(volume_mm3 * density) / 1e6, 2)
