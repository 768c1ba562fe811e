"""Gradients and patterns: how the lamp's light lies over a whole part."""

from portal.craft.parts import Effect
from portal.web.kit.pictures.paint import ALUMINIUM, Paint
from portal.web.kit.pictures.svg import num

Stops = list[tuple[float, str]]


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

    The edge of the mirrored light is as sharp as the gloss: a haze at satin, a line at high gloss.
    """
    shine = paint.shine
    if shine < 0.25:
        return "", ""
    soft = 0.3 * (1 - shine) ** 1.4 + 0.004
    strong = 0.34 * shine**1.6 + 0.05
    edge = 0.46
    stops = (
        (0, strong * 0.45),
        (edge - soft, strong),
        (edge + soft, 0),
        (0.86, 0),
        (1, strong * 0.3),
    )
    inner = "".join(
        f'<stop offset="{at:.3g}" stop-color="#fff" stop-opacity="{op:.2g}"/>' for at, op in stops
    )
    return (
        f'<linearGradient id="{mark}" x1=".2" y1="0" x2=".62" y2="1">{inner}</linearGradient>',
        f"url(#{mark})",
    )


def grain(mark: str, paint: Paint, size: float) -> tuple[str, str]:
    """Return the pattern of flakes or grain, and the fill that uses it ('' when smooth or tiny)."""
    if size < 120 or paint.effect not in (Effect.METALLIC, Effect.TEXTURE, Effect.TRANSLUCENT):
        return "", ""
    if paint.effect is Effect.TEXTURE:
        dots = (
            '<path d="M2 3h2M9 1h2M6 7h2M13 6h2M3 12h2M10 11h2M15 14h2" stroke="#fff" '
            'stroke-opacity=".17"/><path d="M3 5h2M10 3h2M7 9h2M14 8h2M4 14h2M11 13h2" '
            'stroke="#000" stroke-opacity=".28"/>'
        )
        side = 17
    else:
        dots = (
            '<path d="M2 2h1M11 5h1M7 12h1M17 16h1M4 18h1M14 10h1M19 2h1" stroke="#fff" '
            'stroke-opacity=".5"/><path d="M6 5h1M15 3h1M11 15h1M2 11h1" stroke="#fff" '
            'stroke-opacity=".25"/>'
        )
        side = 21
    pattern = (
        f'<pattern id="{mark}" width="{side}" height="{side}" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate(17)">{dots}</pattern>'
    )
    return pattern, f"url(#{mark})"
