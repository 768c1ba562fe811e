"""The shape of a wheel: a drop-centre barrel turned from its section, and a face with windows.

Built on the standard's rim diameters and flange height (data/rims.toml); the face is a dished
disc from which windows are cut, whose flanks are coated too.
"""

import math
from dataclasses import dataclass

from portal.craft.facts import base_metal, face_of
from portal.craft.parts import Metal, PartSet, Rim
from portal.craft.revolve import Outline, ring_mm2, turned_area_mm2, turned_volume_mm3
from portal.craft.rim_sizes import bead_seat_mm
from portal.craft.tables import toml_table

_SECTION = toml_table("rims.toml")["section"]
_SHAPES = toml_table("shapes.toml")
_HUB = _SHAPES["hub"]


@dataclass(frozen=True, slots=True)
class WheelShape:
    """One wheel: area in mm² without the masked hub pad, volume in mm³, envelope in mm."""

    area_mm2: float
    volume_mm3: float
    envelope_mm: tuple[float, float, float]


def wheel_shape(part_set: PartSet, rim: Rim) -> WheelShape:
    """Return the shape of one wheel of the set on this rim."""
    steel = base_metal(part_set) in (Metal.STEEL, Metal.STAINLESS, Metal.CAST_IRON)
    thickness = _SECTION["thickness_steel_mm"] if steel else _SECTION["thickness_mm"]
    outline = barrel_outline(rim, thickness)
    inner = min(radius for _, radius in outline)
    face = _face(part_set, rim, inner)
    return WheelShape(
        turned_area_mm2(outline) + face.area_mm2,
        turned_volume_mm3(outline) + face.volume_mm3,
        _envelope(rim),
    )


def barrel_outline(rim: Rim, thickness: float) -> Outline:
    """Return the closed section of the barrel: z along the axis from the outboard flange, radius.

    5° bead seats, a drop-centre well, flanges of the standard's height, one wall thickness.
    """
    width, seat_radius = rim.width_code * 25.4, bead_seat_mm(rim.diameter_code) / 2
    tip = seat_radius + _SECTION["flange_height_mm"]
    lip = _SECTION["flange_width_mm"]
    seat = min(_SECTION["seat_width_mm"], width / 4)
    seat_end = seat_radius - seat * math.tan(math.radians(_SECTION["taper_deg"]))
    well = seat_radius - _SECTION["well_depth_mm"]
    half_well = width * _SECTION["well_width_share"] / 2
    middle = width / 2
    tyre_side = [
        (-lip, tip),
        (0.0, tip),
        (0.0, seat_radius),
        (seat, seat_end),
        (middle - half_well, well),
        (middle + half_well, well),
        (width - seat, seat_end),
        (width, seat_radius),
        (width, tip),
        (width + lip, tip),
    ]
    inside = [
        (width + lip, tip - thickness),
        (width + thickness, tip - thickness),
        (width + thickness, seat_radius - thickness),
        (width - seat, seat_end - thickness),
        (middle + half_well, well - thickness),
        (middle - half_well, well - thickness),
        (seat, seat_end - thickness),
        (-thickness, seat_radius - thickness),
        (-thickness, tip - thickness),
        (-lip, tip - thickness),
    ]
    return (*tyre_side, *inside)


def window_edge_mm(count: int, share_open: float, inner: float, outer: float) -> float:
    """Return the length of all window edges: `count` equal ring sectors taking `share_open`."""
    if not count:
        return 0.0
    angle = 2 * math.pi * share_open / count
    return count * (2 * (outer - inner) + angle * (outer + inner))


def _face(part_set: PartSet, rim: Rim, barrel_inner: float) -> WheelShape:
    style = _SHAPES["face"][face_of(part_set).value]
    bore = (rim.bore_mm / 2) if rim.bore_mm else _HUB["bore_radius_mm"]
    hub = _hub_radius(rim)
    windows_to = max(barrel_inner - _HUB["rim_ring_mm"], hub)
    open_area = ring_mm2(windows_to, hub) * style["open"]
    slant = math.hypot(1, style["dish_mm"] / max(barrel_inner - hub, 1.0))
    faces = 2 * slant * (ring_mm2(barrel_inner, bore) - open_area) - ring_mm2(hub, bore)
    flanks = style["depth_mm"] * window_edge_mm(style["windows"], style["open"], hub, windows_to)
    bore_wall = 2 * math.pi * bore * _HUB["thickness_mm"]
    # where the face grows out of the barrel there is no surface
    joint = 2 * math.pi * barrel_inner * min(style["depth_mm"], 10.0)
    spokes = (ring_mm2(barrel_inner, hub) - open_area) * slant
    volume = spokes * style["depth_mm"] * style["solid_share"]
    if style["solid_share"] < 1:
        volume += ring_mm2(hub, bore) * _HUB["thickness_mm"] * _HUB["solid_share"]
    else:
        volume += ring_mm2(hub, bore) * style["depth_mm"]
    return WheelShape(faces + flanks + bore_wall - joint, volume, (0.0, 0.0, 0.0))


def _hub_radius(rim: Rim) -> float:
    if rim.bolt_circle_mm is None:
        return float(_HUB["pad_radius_mm"])
    return float(rim.bolt_circle_mm / 2 + _HUB["around_bolts_mm"])


def _envelope(rim: Rim) -> tuple[float, float, float]:
    across = bead_seat_mm(rim.diameter_code) + 2 * _SECTION["flange_height_mm"]
    half = rim.width_code * 25.4 / 2 + _SECTION["flange_width_mm"]
    offset = rim.offset_mm or 0.0
    # the pad stands `offset` outboard of the middle, the hub's front a hub's thickness further
    outboard = max(half, offset + _HUB["thickness_mm"])
    inboard = max(half, -offset)
    return (round(across, 1), round(across, 1), round(outboard + inboard, 1))
