"""Bars, blades and rings as SVG paths, each facet with the direction it faces."""

from dataclasses import dataclass
from math import cos, hypot, radians, sin

from portal.web.pictures.svg import num

Point = tuple[float, float]
# points and capital command letters, not yet written
Path = tuple["Point | str", ...]
MIDDLE = 320.0
# where the lamp hangs, as a direction in the picture (y grows downward)
LAMP: Point = (-0.55, -0.835)


@dataclass(frozen=True, slots=True)
class Facet:
    """A piece of surface: its outline, and how far it faces the lamp (-1 to 1)."""

    path: Path
    facing: float


@dataclass(frozen=True, slots=True)
class Bar:
    """A spoke between two points: its two flanks and its flat top."""

    flanks: tuple[Facet, Facet]
    top: Path


def polar(radius: float, degrees: float) -> Point:
    """Return a point around the middle; 0° is up, degrees grow clockwise."""
    angle = radians(degrees - 90)
    return (MIDDLE + radius * cos(angle), MIDDLE + radius * sin(angle))


def facing(direction: Point) -> float:
    """Return how far a slope that falls in `direction` faces the lamp."""
    return direction[0] * LAMP[0] + direction[1] * LAMP[1]


def write(*points: Point | str, digits: int = 1) -> str:
    """Return path data of points and capital command letters, as short relative commands.

    Steps start from the rounded position before, so that rounding errors never add up.
    """
    out: list[str] = []
    command, here = "M", (0.0, 0.0)
    base, left = here, 0
    for one in points:
        if isinstance(one, str):
            command, left, base = one, {"Q": 2}.get(one, 1), here
            out.append(one if one in "MZ" else one.lower())
            continue
        to = (round(one[0], digits), round(one[1], digits))
        step = to if command == "M" else (to[0] - base[0], to[1] - base[1])
        out.append(pair(step, first=out[-1].isalpha()))
        left -= 1
        here = to
        if left <= 0:
            base, left = here, {"Q": 2}.get(command, 1)
    return "".join(out)


def pair(step: Point, *, first: bool) -> str:
    """Format two numbers; a minus sign needs no space before it."""
    text = "".join(n if n.startswith("-") else " " + n for n in map(num, step))
    return text.lstrip() if first else text


def bar(a: Point, b: Point, widths: tuple[float, float], *, bevel: float, flare: float = 0) -> Bar:
    """Return a spoke from `a` to `b` with half-widths at both ends; `flare` widens its foot."""
    length = hypot(b[0] - a[0], b[1] - a[1])
    along = ((b[0] - a[0]) / length, (b[1] - a[1]) / length)
    across = (-along[1], along[0])
    wa, wb = widths

    def at(share: float, side: float) -> Point:
        return (
            a[0] + along[0] * length * share + across[0] * side,
            a[1] + along[1] * length * share + across[1] * side,
        )

    def edge(sign: int, inset: float) -> Path:
        near, far = sign * (wa - inset), sign * (wb - inset)
        if not flare:
            return (at(0, near), "L", at(1, far))
        foot = sign * (wb + flare - inset)
        return (at(0, near), "L", at(0.8, far), "Q", at(0.95, far), at(1.04, foot))

    def closed(inset: float) -> Path:
        back = _reversed(edge(-1, inset))
        return ("M", *edge(1, inset), "L", *back, "Z")

    flanks = tuple(
        Facet(
            ("M", at(0, 0), "L", *edge(sign, 0), "L", at(1, 0), "Z"),
            facing((across[0] * sign, across[1] * sign)),
        )
        for sign in (1, -1)
    )
    return Bar((flanks[0], flanks[1]), closed(bevel))


def _reversed(edge: Path) -> Path:
    """Return an edge backwards: M a L b Q c d becomes d Q c b L a."""
    if len(edge) == 3:
        return (edge[2], "L", edge[0])
    a, _l, b, _q, c, d = edge
    return (d, "Q", c, b, "L", a)


def blade(
    inner: tuple[float, float], outer: tuple[float, float], sweep: float, width: float
) -> Bar:
    """Return a swept blade from (radius, degrees) to (radius, degrees), bent by `sweep` degrees."""
    (r0, t0), (r1, t1) = inner, outer
    middle = (r0 + r1) / 2

    def curve(shift0: float, shift1: float) -> tuple[Point, str, Point, Point]:
        return (
            polar(r0, t0 + shift0),
            "Q",
            polar(middle, (t0 + t1) / 2 + (shift0 + shift1) / 2 - sweep),
            polar(r1, t1 + shift1),
        )

    def between(low: float, high: float) -> Path:
        # the same way round as every other outline, or overlaps would cut holes
        first, back = curve(high * 1.1, high), curve(low * 1.1, low)
        return ("M", *first, "L", back[3], "Q", back[2], back[0], "Z")

    side = radians((t0 + t1) / 2 - 90 + 90)
    normal = (cos(side), sin(side))
    return Bar(
        (
            Facet(between(0, width), facing(normal)),
            Facet(between(-width, 0), facing((-normal[0], -normal[1]))),
        ),
        between(-width * 0.05, width * 0.62),
    )


def disc(radius: float, **attributes: str) -> str:
    written = "".join(f' {k.replace("_", "-")}="{v}"' for k, v in attributes.items())
    return f'<circle cx="320" cy="320" r="{num(radius)}"{written}/>'


def disc_path(radius: float) -> str:
    """Return path data of a disc around the middle."""
    r, d = num(radius), num(2 * radius)
    return f"M{num(MIDDLE - radius)} 320a{r} {r} 0 1 0 {d} 0a{r} {r} 0 1 0-{d} 0z"


def ring(outer: float, inner: float, stroke: str, **attributes: str) -> str:
    wide = num(outer - inner)
    return disc((outer + inner) / 2, fill="none", stroke=stroke, stroke_width=wide, **attributes)


def dots(
    radius: float, count: int, size: float, *, turn: float = 0, share: float = 0, **attributes: str
) -> str:
    """Return `count` dots (or slots of `share` of their pitch) on a circle, as one element."""
    start = f' transform="rotate({num(turn - 90)} 320 320)"'
    return disc(
        radius,
        fill="none",
        stroke_width=num(size),
        stroke_linecap="round",
        stroke_dasharray=f"{share:g} {1 - share:g}",
        pathLength=str(count),
        **attributes,
    ).replace("/>", f"{start}/>")
