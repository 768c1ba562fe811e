"""Areas and volumes of turned shapes, by Pappus: an outline in (along the axis, radius), mm."""

import math
from collections.abc import Sequence

Outline = Sequence[tuple[float, float]]


def turned_area_mm2(outline: Outline) -> float:
    """Return the surface of a closed outline turned round its axis: cone strips, end to end."""
    return sum(
        math.pi * (r1 + r2) * math.hypot(z2 - z1, r2 - r1)
        for (z1, r1), (z2, r2) in zip(outline, (*outline[1:], outline[0]), strict=True)
    )


def turned_volume_mm3(outline: Outline) -> float:
    """Return the volume of a closed outline turned round its axis: cone frustums, signed."""
    return abs(
        sum(
            math.pi / 3 * (r1 * r1 + r1 * r2 + r2 * r2) * (z2 - z1)
            for (z1, r1), (z2, r2) in zip(outline, (*outline[1:], outline[0]), strict=True)
        )
    )


def ring_mm2(outer: float, inner: float) -> float:
    """Return the area of a flat ring between two radii in mm."""
    return math.pi * (outer * outer - inner * inner)
