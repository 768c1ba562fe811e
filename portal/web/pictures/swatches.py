"""A coated sample plate. It stands beside its name, so screen readers skip it."""

from markupsafe import Markup

from portal.craft.parts import Effect, Powder
from portal.web.pictures.paint import Paint, paint_of_powder
from portal.web.pictures.svg import fresh_id, num

SPECKS = "M14 22h1m9-6h1m12 5h1m9-7h1M18 40h1m11-3h1m13 7h1M12 53h1m14-4h1m15 6h1M8 33h1m43-3h1"


def swatch(powder: Powder, size: float = 64) -> Markup:
    paint = paint_of_powder(powder)
    mark = fresh_id()
    stops = "".join(f'<stop offset="{at:.2g}" stop-color="{tone}"/>' for at, tone in _tones(paint))
    return Markup(  # noqa: S704  # numbers and colours that were computed here
        f'<svg class="swatch" viewBox="0 0 64 64" width="{num(size)}" height="{num(size)}" '
        f'aria-hidden="true"><linearGradient id="{mark}" x2=".7" y2="1">{stops}</linearGradient>'
        f'<path d="M6 2h52a4 4 0 0 1 4 4v52a4 4 0 0 1-4 4H6a4 4 0 0 1-4-4V6a4 4 0 0 1 4-4zm26 '
        f'5a4 4 0 1 0 0 8 4 4 0 0 0 0-8z" fill="url(#{mark})" stroke="#8b8d8e"/>'
        f"{_specks(paint)}</svg>"
    )


def _tones(paint: Paint) -> list[tuple[float, str]]:
    if paint.effect is Effect.CHROME:
        rows = [(0.0, 0.4), (0.45, -0.3), (0.5, -1.4), (0.54, 0.3), (1, -0.3)]
        return [(at, paint.tone(f)) for at, f in rows]
    soft = 0.32 * (1 - paint.shine) ** 1.3 + 0.004
    lift = 0.25 + 0.75 * paint.shine
    rows = [(0, lift * 0.7), (0.48 - soft, lift), (0.48 + soft, 0), (1, -0.5)]
    return [(at, paint.tone(f)) for at, f in rows]


def _specks(paint: Paint) -> str:
    if paint.effect is Effect.TEXTURE:
        return (
            f'<path d="{SPECKS}" stroke="#fff" stroke-opacity=".3" stroke-width="2"/>'
            f'<path d="{SPECKS}" stroke="#000" stroke-opacity=".5" transform="translate(2 2)"/>'
        )
    if paint.effect in (Effect.METALLIC, Effect.TRANSLUCENT):
        return f'<path d="{SPECKS}" stroke="#fff" stroke-opacity=".65"/>'
    return ""
