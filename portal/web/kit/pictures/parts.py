"""The other part kinds, each in its finish: caliper, bumper, tube, plate, box, railing, frame."""

from collections.abc import Callable, Mapping

from markupsafe import Markup

from portal.craft.parts import PartKind, PartSet, Powder
from portal.web.kit.pictures import lamp
from portal.web.kit.pictures.paint import Paint, paint_of
from portal.web.kit.pictures.svg import fresh_id, num, picture
from portal.web.kit.pictures.wheel import FINE_FROM, wheel
from portal.web.kit.pictures.words import part_title

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
        """Draw the inside of something, where the light does not reach."""
        return f'<path d="{path}" fill="{self.paint.tone(-2)}" stroke="#000" stroke-opacity=".4"/>'


def caliper(brush: Brush) -> str:
    """A brake caliper as it sits over its disc: body, bridge, pistons' bosses, bare lugs."""
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
    """A bull bar: bent tube with two cross tubes and uprights."""
    return (
        brush.tube("M60 392H580", 30)
        + brush.tube("M60 296H580", 30)
        + brush.tube("M232 182V488M408 182V488", 36)
        + brush.tube("M60 500V292Q60 176 176 176H464Q580 176 580 292V500", 50)
    )


def tube(brush: Brush) -> str:
    """A length of tube, seen into its end."""
    turn = 'transform="rotate(-36.4 524 186)"'
    return (
        brush.tube("M96 502L524 186", 118)
        + f'<ellipse cx="524" cy="186" rx="26" ry="60" fill="{brush.paint.tone(0.3)}" '
        f'stroke="#8b8d8e" stroke-width="2.5" {turn}/>'
        f'<ellipse cx="526" cy="185" rx="19" ry="47" fill="{brush.paint.tone(-2)}" {turn}/>'
    )


def plate(brush: Brush) -> str:
    """A flat plate with four holes."""
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
    """A box with its lid."""
    return (
        brush.sheet("M92 236v196l228 128V364z")
        + brush.sheet("M548 236v196L320 560V364z", facing=-0.9, mirrored=False)
        + brush.sheet("M80 206L320 74 560 206 320 342z", facing=0.7)
        + brush.sheet("M80 206v40l240 136v-40z", facing=0.05, mirrored=False)
        + brush.sheet("M560 206v40L320 382v-40z", facing=-0.7, mirrored=False)
    )


def railing(brush: Brush) -> str:
    """A run of railing between two posts."""
    bars = "".join(f"M{x} 196V470" for x in range(150, 520, 57))
    return (
        brush.tube(bars, 17)
        + brush.tube("M70 196H570M70 470H570", 26)
        + brush.tube("M78 138V560M562 138V560", 44)
        + brush.sheet("M46 138h64l-32-46z", mirrored=False)
        + brush.sheet("M530 138h64l-32-46z", mirrored=False)
    )


def frame(brush: Brush) -> str:
    """A bicycle's frame."""
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


SHAPES: dict[PartKind, Callable[[Brush], str]] = {
    PartKind.CALIPER: caliper,
    PartKind.BUMPER: bumper,
    PartKind.TUBE: tube,
    PartKind.PLATE: plate,
    PartKind.BOX: box,
    PartKind.RAILING: railing,
    PartKind.FRAME: frame,
}


def part(
    part_set: PartSet, powders: Mapping[str, Powder], size: float = 320, *, named: bool = True
) -> Markup:
    """Draw one part of the set in its finish; a wheel is drawn as a wheel.

    Not `named`, it stands beside its name and readers skip it.
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
