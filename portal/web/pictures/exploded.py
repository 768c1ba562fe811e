"""What comes off: the wheel taken apart along its axle, each piece numbered and marked.

Each piece links to its reason and tool; the numbered list below the drawing says the same in words,
so the drawing itself is hidden from screen readers.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence

from flask_babel import gettext as _
from markupsafe import Markup, escape

from portal.craft.answers import Removal
from portal.craft.parts import Item, Remover
from portal.web.kit.i18n.languages import label
from portal.web.pictures.svg import num

AXLE = 158.0
LINE = 'stroke="currentColor" stroke-width="3" stroke-linejoin="round"'
METAL = f'fill="#b9bdbe" {LINE}'
RUBBER = 'fill="#2e3031" stroke="#8b8d8e" stroke-width="3"'
PLASTIC = f'fill="#5b5f61" {LINE}'


def _ring(x: float, ry: float, style: str, deep: float = 0) -> str:
    """Draw a disc seen at an angle, `deep` px thick behind its face."""
    rx = ry * 0.4
    back = ""
    if deep:
        back = (
            f'<path d="M{num(x)} {num(AXLE - ry)}h{num(deep)}a{num(rx)} {num(ry)} 0 0 1 0 '
            f'{num(2 * ry)}h{num(-deep)}z" {style}/>'
        )
    return back + _oval(x, ry, style)


def _oval(x: float, ry: float, style: str, y: float = AXLE) -> str:
    return f'<ellipse cx="{num(x)}" cy="{num(y)}" rx="{num(ry * 0.4)}" ry="{num(ry)}" {style}/>'


def _tyre(x: float) -> str:
    hole = f'fill="#17181a" {LINE}'
    return _ring(x - 22, 142, RUBBER, 52) + _oval(x - 22, 92, hole)


def _weights(x: float) -> str:
    clip = f'<path d="M{num(x - 9)} 0h18v34h-18z" {METAL}/>'
    return "".join(
        f'<g transform="translate(0 {num(y)})">{clip}</g>'
        for y in (AXLE - 62, AXLE - 17, AXLE + 28)
    )


def _valve(x: float) -> str:
    return (
        f'<path d="M{num(x - 11)} {AXLE + 36}h22l-4-54h-14z" {PLASTIC}/>'
        f'<path d="M{num(x - 6)} {AXLE - 18}h12v-34h-12z" fill="#c9a24a" {LINE}/>'
    )


def _sensor(x: float) -> str:
    return (
        f'<path d="M{num(x - 24)} {AXLE - 16}h48v34q-24 14-48 0z" {PLASTIC}/>'
        f'<path d="M{num(x - 5)} {AXLE - 16}h10v-38h-10z" {METAL}/>'
    )


def _cap(x: float) -> str:
    return _ring(x - 4, 34, PLASTIC, 12) + _oval(x - 4, 18, f'fill="none" {LINE}')


def _lug_covers(x: float) -> str:
    spots = ((-8, -34), (10, -12), (-8, 12), (10, 36))
    return "".join(
        f'<path d="M{num(x + dx - 9)} {num(AXLE + dy - 8)}h18v16h-18z" {PLASTIC}/>'
        for dx, dy in spots
    )


def _spacers(x: float) -> str:
    return _ring(x - 5, 62, METAL, 12) + _oval(x - 5, 26, f'fill="none" {LINE}')


def _spigot_rings(x: float) -> str:
    return _ring(x - 4, 36, PLASTIC, 9) + _oval(x - 4, 29, f'fill="#17181a" {LINE}')


def _badges(x: float) -> str:
    return f'<path d="M{num(x - 22)} {AXLE - 20}h44l-8 40h-28z" {METAL}/>'


def _bearings(x: float) -> str:
    return (
        _ring(x - 8, 44, METAL, 18)
        + _oval(x - 8, 30, f'fill="none" {LINE} stroke-dasharray="7 6"')
        + _oval(x - 8, 16, PLASTIC)
    )


def _seals(x: float) -> str:
    return _oval(x, 46, 'fill="none" stroke="#2e3031" stroke-width="15"') + _oval(
        x, 52, 'fill="none" stroke="#8b8d8e" stroke-width="2"'
    )


def _bare_wheel(x: float) -> str:
    spokes = "".join(
        f'<path d="M{num(x - 34 + px * 8)} {num(AXLE + py * 20)}L{num(x - 34 + px * 38)} '
        f'{num(AXLE + py * 94)}" stroke="#b9bdbe" stroke-width="17"/>'
        for px, py in ((0, -1), (0.95, -0.31), (0.59, 0.81), (-0.59, 0.81), (-0.95, -0.31))
    )
    return (
        _ring(x - 34, 112, METAL, 68)
        + _oval(x - 34, 99, f'fill="#3c4042" {LINE}')
        + spokes
        + _oval(x - 34, 30, METAL)
        + _oval(x - 34, 11, f'fill="#17181a" {LINE}')
    )


Drawer = Callable[[float], str]
# from the front of the wheel to its back: how a piece is drawn and how much room it takes
PIECES: dict[Item, tuple[Drawer, float]] = {
    Item.LUG_COVERS: (_lug_covers, 72),
    Item.CENTRE_CAP: (_cap, 76),
    Item.BADGES: (_badges, 76),
    Item.WEIGHTS: (_weights, 70),
    Item.VALVE: (_valve, 66),
    Item.SENSOR: (_sensor, 76),
    Item.TYRE: (_tyre, 184),
    Item.SPIGOT_RINGS: (_spigot_rings, 62),
    Item.SPACERS: (_spacers, 84),
    Item.BEARINGS: (_bearings, 84),
    Item.SEALS: (_seals, 80),
}
# the bare wheel stands before this piece
WHEEL_BEFORE = (
    Item.VALVE,
    Item.SENSOR,
    Item.TYRE,
    Item.SPIGOT_RINGS,
    Item.SPACERS,
    Item.BEARINGS,
    Item.SEALS,
)
WHEEL_ROOM = 196.0
HEIGHT = 358


def in_order(removals: Iterable[Removal]) -> list[Removal]:
    """Return removals from the front of the wheel to its back: the order of the picture's numbers.

    A list beside the picture must use the same order.
    """
    places = {item: place for place, item in enumerate(PIECES)}
    return sorted(removals, key=lambda one: places[one.item])


def exploded(
    removals: Sequence[Removal],
    removers: Mapping[Item, str] | None = None,
    link: str = "",
) -> Markup:
    """Draw the wheel taken apart; each piece says who takes it off and links to `link` + item.

    `removers` holds who takes each item off (`you`, `us`, `stays`); without it the usual one.
    """
    who_of = removers or {}
    numbered = {one.item: number for number, one in enumerate(in_order(removals), 1)}
    usual = {one.item: str((one.who_may or (Remover.STAYS,))[0]) for one in removals}
    shapes: list[str] = []
    x, placed = 24.0, False
    for item, (draw, room) in PIECES.items():
        if item in WHEEL_BEFORE and not placed:
            shapes.append(_bare_wheel(x + WHEEL_ROOM / 2))
            x, placed = x + WHEEL_ROOM, True
        if item in numbered:
            who = str(who_of.get(item) or usual[item])
            shapes.append(_piece(item, draw, x + room / 2, numbered[item], who, link))
            x += room
    return _figure("".join(shapes), x + 24, _in_words(removals, who_of, usual))


def one_piece(item: Item) -> Markup:
    """Draw one piece alone; the words beside it say what it is."""
    draw, room = PIECES[item]
    half = max(room, 84) / 2 + 24 if item is not Item.TYRE else 152.0
    box = f"{num(-half)} {num(AXLE - half)} {num(2 * half)} {num(2 * half)}"
    return Markup(  # noqa: S704  # drawn here
        f'<svg class="piece" viewBox="{box}" width="96" height="96" aria-hidden="true">'
        f"{draw(0)}</svg>"
    )


def _piece(item: Item, draw: Drawer, x: float, number: int, who: str, link: str) -> str:
    at = num(x)
    # the sheet colours the circle by who takes the piece off
    body = (
        f'<path d="M{at} {AXLE}V318" stroke="currentColor" stroke-width="2" '
        f'stroke-dasharray="2 6"/>{draw(x)}'
        f'<circle cx="{at}" cy="332" r="22" stroke-width="4"/>'
        f'<text x="{at}" y="341">{number}</text>'
    )
    if not link:
        return f'<g data-who="{who}">{body}</g>'
    return f'<a href="#{escape(link)}{item}" tabindex="-1" data-who="{who}">{body}</a>'


def _figure(shapes: str, width: float, caption: str) -> Markup:
    return Markup(  # noqa: S704  # drawn here; texts are escaped where they come in
        f'<figure><svg class="exploded" viewBox="0 0 {num(width)} {HEIGHT}" '
        f'width="{num(width)}" height="{HEIGHT}" aria-hidden="true" text-anchor="middle" '
        f'font-family="Docket,Arial Narrow,sans-serif" font-size="27" font-weight="600">'
        f'<path d="M8 {AXLE}H{num(width - 8)}" stroke="currentColor" stroke-width="2" '
        f'stroke-dasharray="14 6 3 6"/>{shapes}</svg>'
        f'<figcaption class="unseen">{escape(caption)}</figcaption></figure>'
    )


def _in_words(
    removals: Sequence[Removal], who_of: Mapping[Item, str], usual: dict[Item, str]
) -> str:
    rows = []
    for number, one in enumerate(in_order(removals), 1):
        who = Remover(str(who_of.get(one.item) or usual[one.item]))
        rows.append(f"{number}. {label(one.item)}: {label(who)}")
    return str(_("The parts of a wheel, from its face to its back.")) + " " + "; ".join(rows)
