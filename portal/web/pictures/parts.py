"""The other part kinds, each in its finish, and the brush that draws them."""

from collections.abc import Callable, Mapping

from markupsafe import Markup

from portal.craft.parts import PartKind, PartSet, Powder
from portal.web.pictures import lamp
from portal.web.pictures.paint import Paint, paint_of
from portal.web.pictures.svg import fresh_id, num, picture
from portal.web.pictures.wheel import FINE_FROM, wheel
from portal.web.pictures.words import part_title

STEEL = "#9a9d9e"


class Brush:
    """Draws surfaces and tubes in one paint."""

    def __init__(self, paint: Paint, size: float) -> None:
        self.paint = paint
        self.fine = size >= FINE_FROM
        self.mark = fresh_id()
        grain, self._grain = lamp.grain(self.mark + "g", paint, size)
        mirror, self._mirror = lamp.mirror(self.mark + "m", paint) if self.fine else ("", "")
        ends = (120.0, 80.0, 500.0, 560.0)
        self.defs = (
            f"<defs>{lamp.linear(self.mark + 'f', lamp.across(paint), ends)}"
            f"{lamp.turned_round(self.mark + 'c', self.mark + 'f', (500, 560, 120, 80))}"
            f"{mirror}{grain}</defs>"
        )

    def sheet(self, path: str, *, facing: float | None = None, mirrored: bool = True) -> str:
        """Draw a surface; with `facing` it has one tone, else it runs from light to shade."""
        fill = f"url(#{self.mark}f)" if facing is None else self.paint.tone(facing)
        over = [self._grain, self._mirror if mirrored else ""]
        layers = "".join(f'<path d="{path}" fill="{one}"/>' for one in over if one)
        edge = f'<path d="{path}" fill="{fill}" stroke="#8b8d8e" stroke-width="2.5"/>'
        return edge + layers

    def tube(self, path: str, width: float) -> str:
        """Draw round tube along a path: edge, body, the lit side, and the lamp where it shines."""
        shine = self.paint.shine
        push = width * 0.17
        rows = [
            ("#8b8d8e", width + 3, 0.0, 1.0),
            (self.paint.tone(-1.1), width, 0.0, 1.0),
            (self.paint.tone(-0.5), width * 0.88, -push * 0.3, 1.0),
            (self.paint.tone(0), width * 0.66, -push * 0.75, 1.0),
            (self.paint.tone(0.8), width * 0.3, -push * 1.2, 1.0),
            ("#fff", width * 0.09, -push * 1.4, round(shine * 0.75, 2)),
        ]
        if not self.fine:
            rows = [rows[0], rows[1], rows[3], rows[4]]
        strokes = "".join(
            f'<use href="#{{id}}" stroke="{colour}" stroke-width="{num(wide)}"'
            + (f' stroke-opacity="{dim:g}"' if dim < 1 else "")
            + (f' transform="translate({num(move)} {num(move)})"' if move else "")
            + "/>"
            for colour, wide, move, dim in rows
            if dim > 0.15
        )
        mark = fresh_id()
        return (
            f'<defs><path id="{mark}" d="{path}" fill="none" stroke-linejoin="round"/></defs>'
            + strokes.replace("{id}", mark)
        )

    def hollow(self, path: str) -> str:
        """Draw the inside of something, where light does not reach."""
        return f'<path d="{path}" fill="{self.paint.tone(-2)}" stroke="#000" stroke-opacity=".4"/>'


def caliper(brush: Brush) -> str:
    """Draw a brake caliper as it sits over its disc: body, bridge, piston bosses, lugs."""
    body = "M52 372a336 336 0 0 1 536 0l-118 92a187 187 0 0 0-300 0z"
    window = "M238 232a300 300 0 0 1 164 0l-22 74a222 222 0 0 0-120 0z"
    rounded = (
        f'<path d="{body}" fill="none" stroke="#8b8d8e" stroke-width="41" stroke-linejoin="round"/>'
        f'<path d="{body}" fill="none" stroke="url(#{brush.mark}f)" stroke-width="36" '
        'stroke-linejoin="round"/>'
    )
    nipple = f'<path d="M306 222h28v-42h-8v-24h-12v24h-8z" fill="{STEEL}" stroke="#5d6061"/>'
    pads = f'<path d="M252 300l14-58h108l14 58a222 222 0 0 0-136 0z" fill="{STEEL}"/>'
    bosses = "".join(
        f'<circle cx="{x}" cy="330" r="64" fill="url(#{brush.mark}c)" stroke="#8b8d8e" '
        f'stroke-width="2.5"/><circle cx="{x}" cy="330" r="42" fill="url(#{brush.mark}f)"/>'
        for x in (178, 462)
    )
    lugs = "".join(
        f'<circle cx="{x}" cy="418" r="32" fill="{STEEL}" stroke="#5d6061" stroke-width="3"/>'
        f'<circle cx="{x}" cy="418" r="14" fill="#2b2d2e"/>'
        for x in (112, 528)
    )
    return (
        nipple + rounded + brush.sheet(body).replace('stroke-width="2.5"', 'stroke-width="0"')
        + brush.hollow(window) + pads + bosses + lugs
    )  # fmt: skip


def bumper(brush: Brush) -> str:
    """Draw a bull bar: bent tube with two cross tubes and uprights."""
    return (
        brush.tube("M60 392H580", 30)
        + brush.tube("M60 296H580", 30)
        + brush.tube("M232 182V488M408 182V488", 36)
        + brush.tube("M60 500V292Q60 176 176 176H464Q580 176 580 292V500", 50)
    )


def tube(brush: Brush) -> str:
    """Draw a length of tube, seen into its end."""
    turn = 'transform="rotate(-36.4 524 186)"'
    return (
        brush.tube("M96 502L524 186", 118)
        + f'<ellipse cx="524" cy="186" rx="26" ry="60" fill="{brush.paint.tone(0.3)}" '
        f'stroke="#8b8d8e" stroke-width="2.5" {turn}/>'
        f'<ellipse cx="526" cy="185" rx="19" ry="47" fill="{brush.paint.tone(-2)}" {turn}/>'
    )


def plate(brush: Brush) -> str:
    """Draw a flat plate with four holes."""
    holes = "".join(
        f'<ellipse cx="{x}" cy="{y}" rx="23" ry="13" fill="{brush.paint.tone(-2)}"/>'
        f'<path d="M{x - 23} {y}a23 13 0 0 0 46 0" fill="none" stroke="#fff" stroke-opacity=".4" '
        f'stroke-width="3"/>'
        for x, y in ((170, 332), (320, 250), (470, 332), (320, 418))
    )
    return (
        brush.sheet("M60 334v34l260 148v-34z", facing=-0.6, mirrored=False)
        + brush.sheet("M580 334v34L320 516v-34z", facing=-1, mirrored=False)
        + brush.sheet("M60 334L320 186 580 334 320 482z")
        + holes
    )


def box(brush: Brush) -> str:
    """Draw a box with its lid."""
    return (
        brush.sheet("M92 236v196l228 128V364z")
        + brush.sheet("M548 236v196L320 560V364z", facing=-0.9, mirrored=False)
        + brush.sheet("M80 206L320 74 560 206 320 342z", facing=0.7)
        + brush.sheet("M80 206v40l240 136v-40z", facing=0.05, mirrored=False)
        + brush.sheet("M560 206v40L320 382v-40z", facing=-0.7, mirrored=False)
    )


def railing(brush: Brush) -> str:
    """Draw a run of railing between two posts."""
    bars = "".join(f"M{x} 196V470" for x in range(150, 520, 57))
    return (
        brush.tube(bars, 17)
        + brush.tube("M70 196H570M70 470H570", 26)
        + brush.tube("M78 138V560M562 138V560", 44)
        + brush.sheet("M46 138h64l-32-46z", mirrored=False)
        + brush.sheet("M530 138h64l-32-46z", mirrored=False)
    )


def frame(brush: Brush) -> str:
    """Draw a bicycle frame."""
    return (
        brush.tube("M96 420L262 208M96 420L288 434", 17)
        + brush.tube("M288 434L250 150", 31)
        + brush.tube("M258 214L478 204", 29)
        + brush.tube("M288 434L492 266", 38)
        + brush.tube("M468 164L506 314", 44)
        + "".join(
            f'<circle cx="{x}" cy="{y}" r="{r}" fill="{brush.paint.tone(-0.2)}" stroke="#8b8d8e" '
            f'stroke-width="2.5"/><circle cx="{x}" cy="{y}" r="{r - 11}" fill="#2b2d2e"/>'
            for x, y, r in ((288, 434, 33), (96, 420, 20))
        )
    )


def chair(brush: Brush) -> str:
    """Draw a garden chair, half from the side: slatted back and seat on a tube frame with arms."""
    back = "".join(f"M{224 + n * 44} {140 - n * 8}L{206 + n * 44} {336 - n * 6}" for n in range(5))
    seat = "".join(
        f"M{196 + n * 14} {350 + n * 24}L{420 + n * 16} {328 + n * 24}" for n in range(4)
    )
    return (
        brush.tube("M196 352L150 566M416 330L452 540", 22)
        + brush.tube(back, 15)
        + brush.tube(seat, 17)
        + brush.tube("M220 96L194 350L246 432L226 590M246 432L480 406L506 572", 24)
        + brush.tube("M220 96L412 80L418 330L480 406", 24)
        + brush.tube("M206 250L262 330L254 420M416 232L490 306L484 400", 18)
    )


def table(brush: Brush) -> str:
    """Draw a garden table: a slatted top on four legs."""
    slats = "".join(
        f"M{150 + n * 58} {306 - n * 26}L{390 + n * 34} {380 - n * 30}" for n in range(5)
    )
    return (
        brush.tube("M120 316L120 520M384 396L384 592M556 236L556 430M306 210L306 330", 28)
        + brush.sheet("M76 296L306 180 600 222 384 372z")
        + brush.sheet("M76 296v26l308 76v-26z", facing=-0.5, mirrored=False)
        + brush.sheet("M600 222v26L384 398v-26z", facing=-0.9, mirrored=False)
        + f'<path d="{slats}" stroke="{brush.paint.tone(-1.6)}" stroke-width="5" fill="none"/>'
    )


def bench(brush: Brush) -> str:
    """Draw a garden bench: slats between two end frames."""
    slats = "".join(f"M92 {182 + n * 44}L548 {182 + n * 44}" for n in range(4))
    seat = "".join(f"M{88 - n * 8} {372 + n * 30}L{552 + n * 8} {372 + n * 30}" for n in range(3))
    return (
        brush.tube(slats, 24)
        + brush.tube(seat, 24)
        + brush.tube("M100 150V380L68 450V570M540 150V380L572 450V570", 30)
        + brush.tube("M100 300H70Q56 300 56 330V450M540 300H570Q584 300 584 330V450", 20)
    )


def other(brush: Brush) -> str:
    """Draw any metal part: a folded bracket with a gusset and two holes."""
    holes = "".join(
        f'<ellipse cx="{x}" cy="{y}" rx="{rx}" ry="{ry}" fill="{brush.paint.tone(-2)}"/>'
        for x, y, rx, ry in ((250, 196, 24, 32), (446, 452, 34, 20))
    )
    return (
        brush.sheet("M150 130L350 76V378L150 440z")
        + brush.sheet("M150 440L350 378 586 452 372 540z", facing=0.6)
        + brush.sheet("M150 440v30l222 100v-30z", facing=-0.7, mirrored=False)
        + brush.sheet("M586 452v30L372 570v-30z", facing=-1, mirrored=False)
        + brush.sheet("M250 410L250 260 420 474z", facing=-0.2, mirrored=False)
        + holes
    )


SHAPES: dict[PartKind, Callable[[Brush], str]] = {
    PartKind.CALIPER: caliper,
    PartKind.BUMPER: bumper,
    PartKind.TUBE: tube,
    PartKind.PLATE: plate,
    PartKind.BOX: box,
    PartKind.RAILING: railing,
    PartKind.FRAME: frame,
    PartKind.CHAIR: chair,
    PartKind.TABLE: table,
    PartKind.BENCH: bench,
    PartKind.OTHER: other,
}


def part(
    part_set: PartSet, powders: Mapping[str, Powder], size: float = 320, *, named: bool = True
) -> Markup:
    """Draw one part of the set in its finish; a wheel is drawn as a wheel.

    Without `named` it stands beside its name, and screen readers skip it.
    """
    if part_set.kind is PartKind.WHEEL:
        return wheel(part_set, powders, size, named=named)
    brush = Brush(paint_of(part_set, powders), size)
    shapes = SHAPES[part_set.kind](brush)
    return picture(
        brush.defs + shapes,
        box=(640, 640),
        size=(size, size),
        title=part_title(part_set, powders) if named else "",
        name="part",
    )
