"""Gradients and patterns: the lamp's light on a whole part."""

from portal.craft.parts import Effect
from portal.web.pictures.paint import ALUMINIUM, Paint
from portal.web.pictures.svg import num

Stops = list[tuple[float, str]]
BOX = 640  # side of every picture, in picture units
GLOSSY = 0.72  # from here on the lamp's edge is seen; between 45 and 80 gloss units
GRAIN_FROM = 60  # px; below, a flake is larger than a spoke


def linear(mark: str, stops: Stops, ends: tuple[float, float, float, float]) -> str:
    """Return a linear gradient across the picture, in picture units."""
    x1, y1, x2, y2 = (num(v) for v in ends)
    inner = "".join(f'<stop offset="{o:.3g}" stop-color="{c}"/>' for o, c in stops)
    return (
        f'<linearGradient id="{mark}" gradientUnits="userSpaceOnUse" '
        f'x1="{x1}" y1="{y1}" x2="{x2}" y2="{y2}">{inner}</linearGradient>'
    )


def turned_round(mark: str, of: str, ends: tuple[float, float, float, float]) -> str:
    """Return a gradient with the stops of another, along other ends: a hollow for a bulge."""
    x1, y1, x2, y2 = (num(v) for v in ends)
    return f'<linearGradient id="{mark}" href="#{of}" x1="{x1}" y1="{y1}" x2="{x2}" y2="{y2}"/>'


# facing towards the lamp, at shares of the way from the lamp's side to the far side
CHROME = ((0, 0.5), (0.3, 0.1), (0.46, -0.75), (0.5, -1.3), (0.53, 0.3), (0.75, 0.6), (1, -0.3))
CANDY = ((0, 0.9), (0.35, 0.35), (0.6, -0.3), (1, -0.75))
TURNED = ((0, 0.5), (0.28, -0.35), (0.45, 0.4), (0.55, 0.3), (0.72, -0.55), (1, 0.2))


def across(paint: Paint) -> Stops:
    """Return the tones of a flat face from the lamp's side to the far side."""
    if paint.effect is Effect.CHROME:
        return [(at, paint.tone(facing)) for at, facing in CHROME]
    if paint.effect is Effect.TRANSLUCENT:
        return [(at, paint.tone(facing)) for at, facing in CANDY]
    near = 0.35 + 0.3 * paint.shine
    return [(0, paint.tone(near)), (0.5, paint.tone(0.05)), (1, paint.tone(-near))]


def machined() -> Stops:
    """Return the tones of a freshly turned aluminium face."""
    bright = Paint(ALUMINIUM, 80, Effect.METALLIC)
    return [(at, bright.tone(facing)) for at, facing in TURNED]


def mirror(mark: str, paint: Paint) -> tuple[str, str]:
    """Return the gradient of the mirrored lamp, and the fill that uses it ('' when matt).

    Gloss mirrors the lamp with hard edges, satin as a broad haze; matt mirrors nothing.
    """
    shine = paint.shine
    if shine < 0.25:
        return "", ""
    # a dark colour shows the lamp best, a light one hardly
    strong = (0.25 + 0.35 * shine) * (1.15 - paint.lab[0] / 160)
    if shine < GLOSSY:
        stops = [(0.05, 0.0), (0.34, strong), (0.42, strong), (0.75, 0.0)]
    else:
        soft = 0.12 * (1 - shine) + 0.004
        stops = [
            *((0.2, strong * 0.35), (0.2 + soft, strong)),
            *((0.43, strong), (0.43 + soft, 0.0), (0.48, 0.0), (0.48 + soft, strong * 0.7)),
            *((0.51, strong * 0.7), (0.51 + soft, 0.0)),
        ]
    inner = "".join(
        f'<stop offset="{at:.3g}" stop-color="#fff" stop-opacity="{op:.2g}"/>' for at, op in stops
    )
    return (
        f'<linearGradient id="{mark}" x1=".2" y1="0" x2=".62" y2="1">{inner}</linearGradient>',
        f"url(#{mark})",
    )


def grain(mark: str, paint: Paint, size: float) -> tuple[str, str]:
    """Return the pattern of flakes or grain, and the fill that uses it ('' when smooth or tiny).

    A flake is about a pixel on the screen whatever the picture's size, or it would not be seen.
    """
    has_texture = paint.effect in (Effect.METALLIC, Effect.TEXTURE, Effect.TRANSLUCENT)
    if size < GRAIN_FROM or not has_texture:
        return "", ""
    if paint.effect is Effect.TEXTURE:
        lit, dark = (0.2, 0.5) if paint.lab[0] > 22 else (0.3, 0.7)
        dots = (
            f'<path d="M1 2h2M6 1h2M4 5h2M9 4h2M1 8h2M7 8h2" stroke="#fff" '
            f'stroke-opacity="{lit}"/><path d="M1 4h2M6 3h2M4 7h2M9 6h2M1 '
            f'10h2M7 10h2" stroke="#000" stroke-opacity="{dark}"/>'
        )
        side = 11
    else:
        lit = 0.5 if paint.effect is Effect.TRANSLUCENT else 0.85
        dots = (
            f'<path d="M2 2h1.4M11 5h1.4M7 12h1.4M17 16h1.4M4 18h1.4M14 10h1.4M19 2h1.4" '
            f'stroke="#fff" stroke-opacity="{lit}"/><path d="M6 5h1M15 3h1'
            f'M11 15h1M2 11h1" stroke="#000" stroke-opacity=".4"/>'
        )
        side = 21
    scale = num(max(0.7, 0.62 * BOX / size))
    pattern = (
        f'<pattern id="{mark}" stroke-width="1.4" width="{side}" height="{side}" '
        f'patternUnits="userSpaceOnUse" patternTransform="rotate(17)scale({scale})">'
        f"{dots}</pattern>"
    )
    return pattern, f"url(#{mark})"
