"""The wheel as ordered: face, barrel, colour, gloss and effect; rim and tyre to scale."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from markupsafe import Markup

from portal.craft.facts import face_of
from portal.craft.parts import Effect, PartSet, Powder, Rim, System
from portal.craft.tyre_sizes import tyre_diameter_mm
from portal.web.pictures import lamp
from portal.web.pictures.bars import Path, disc, disc_path, dots, ring, write
from portal.web.pictures.faces import FACES, Face
from portal.web.pictures.paint import BLASTED, Paint, paint_of
from portal.web.pictures.svg import fresh_id, group, num, picture
from portal.web.pictures.words import wheel_says, wheel_title

OUTER = 310.0
FINE_FROM = 110
# a rim flange stands about this much above the bead seat (ISO 4000-1 J contour, 17.3 mm)
FLANGE_MM = 17.3
USUAL = Rim(diameter_code=17, width_code=7.5, bolts=5, bolt_circle_mm=112)


@dataclass(frozen=True, slots=True)
class Sizes:
    """Radii in the picture: the rim's edge, the bolt circle, the hub, the cap, a bolt hole."""

    rim: float
    circle: float
    hub: float
    cap: float
    hole: float
    bolts: int


def wheel(
    part_set: PartSet, powders: Mapping[str, Powder], size: float = 320, *, named: bool = True
) -> Markup:
    """Draw one wheel of the set in its finish; `size` in px decides how much detail is worth it.

    Without `named` it stands beside its name, and screen readers skip it.
    """
    return picture(
        body(part_set, powders, size),
        box=(640, 640),
        size=(size, size),
        title=wheel_title(part_set, powders) if named else "",
        says=wheel_says(part_set, powders) if named and size >= FINE_FROM else "",
        name="wheel",
    )


def body(part_set: PartSet, powders: Mapping[str, Powder], size: float) -> str:
    """Draw the wheel's shapes alone, in a box of 640 × 640."""
    finish = part_set.finish
    paint = paint_of(part_set, powders, finish.face if finish else "")
    barrel = paint_of(part_set, powders, finish.barrel if finish else "")
    turned = bool(finish and finish.system is System.MACHINED_CLEAR)
    sizes = _sizes(part_set)
    face = FACES[face_of(part_set)](sizes.rim, sizes.hub)
    face.sheets.append(disc_path(sizes.hub))
    mark, fine = fresh_id(), size >= FINE_FROM
    shapes = [
        _defs(mark, paint, barrel, sizes, turned=turned),
        _tyre(sizes) if part_set.tyre else "",
        _inside(mark, sizes),
        _spokes(mark, paint, face, fine=fine),
        _lip(mark, face, sizes, fine=fine),
        _light(mark, paint, face, sizes, size),
        _middle(paint, sizes, fine=fine),
    ]
    return "".join(shapes)


def _sizes(part_set: PartSet) -> Sizes:
    rim = part_set.rim or (Rim(part_set.tyre.rim_code, 7.5) if part_set.tyre else USUAL)
    edge_mm = rim.diameter_code * 25.4 / 2 + FLANGE_MM
    outer_mm = tyre_diameter_mm(part_set.tyre) / 2 if part_set.tyre else edge_mm
    scale = OUTER / max(outer_mm, edge_mm)
    circle = (rim.bolt_circle_mm or 112) / 2 * scale
    edge = edge_mm * scale
    hub = min(max(circle + 17 * scale, edge * 0.24), edge * 0.42)
    return Sizes(
        rim=edge,
        circle=min(circle, hub * 0.8),
        hub=hub,
        cap=min(circle * 0.52, 34 * scale),
        hole=11.5 * scale,
        bolts=rim.bolts or 5,
    )


def _defs(mark: str, paint: Paint, barrel: Paint, sizes: Sizes, *, turned: bool) -> str:
    low, high = 320 - sizes.rim * 0.66, 320 + sizes.rim * 0.66
    over, back = (low, low - 20, high, high + 20), (high, high, low, low)
    # the inside is seen between the spokes: light behind a dark face, dark behind a light one
    deep = (66, 40) if paint.lab[0] < 38 else (25, 10)
    inner, outer = (Paint((lightness, 0, -1.5), 10).tone(0) for lightness in deep)
    r = num(sizes.rim * 0.95)
    return (
        "<defs>"
        + lamp.linear(mark + "f", lamp.machined() if turned else lamp.across(paint), over)
        + lamp.turned_round(mark + "c", mark + "f", back)
        + lamp.linear(mark + "b", lamp.across(barrel), back)
        + f'<radialGradient id="{mark}i" gradientUnits="userSpaceOnUse" cx="320" cy="320" r="{r}">'
        f'<stop stop-color="{inner}"/><stop offset="1" stop-color="{outer}"/></radialGradient>'
        + lamp.mirror(mark + "m", paint)[0]
        + "</defs>"
    )


def _tyre(sizes: Sizes) -> str:
    wall = OUTER - sizes.rim
    return group(
        [
            disc(OUTER, fill="#2a2b2c", stroke="#8b8d8e", stroke_width="3"),
            disc(sizes.rim + wall * 0.62, fill="none", stroke="#47494a", stroke_width="3"),
            disc(sizes.rim + wall * 0.2, fill="none", stroke="#161717", stroke_width="5"),
        ],
        class_="tyre",
    )


def _inside(mark: str, sizes: Sizes) -> str:
    r = sizes.rim
    return (
        disc(r * 0.97, fill=f"url(#{mark}i)")
        + ring(r * 0.96, r * 0.84, f"url(#{mark}b)")
        + disc(
            r * 0.84, fill="none", stroke="#000", stroke_opacity=".5", stroke_width=num(r * 0.02)
        )
    )


def _spokes(mark: str, paint: Paint, face: Face, *, fine: bool) -> str:
    digits = 1 if fine else 0
    tones: dict[str, list[Path]] = defaultdict(list)
    if fine:
        for flank in face.flanks:
            # a few steps are enough for the eye, and flanks alike travel as one path
            tones[paint.tone(round(flank.facing * 4) / 4 * 1.15 - 0.1)].append(flank.path)
    written = "".join(face.sheets) + _written(face.tops, digits)
    tops = f'<path id="{mark}s" d="{written}"/>'
    shadow = f'<use href="#{mark}s" fill="#000" fill-opacity=".32" transform="translate(5 9)"/>'
    # in a small picture a dark edge around the tops stands for the flanks
    dark = paint.tone(-0.8)
    edge = (
        f'<use href="#{mark}s" fill="none" stroke="{dark}" stroke-width="{num(face.bevel * 2)}"/>'
    )
    flanks = "" if fine or not face.tops else edge
    flanks += "".join(
        f'<path d="{_written(paths, digits)}" fill="{tone}"/>' for tone, paths in tones.items()
    )
    holes = "".join(hole.replace("{inside}", f"{mark}i") for hole in face.holes)
    if holes and fine:
        lit = holes.replace(f"url(#{mark}i)", "#fff").replace(
            "stroke-width", 'stroke-opacity=".28" stroke-width'
        )
        dark = lit.replace("#fff", "#000").replace(".28", ".4")
        holes = group([dark], transform="translate(-2.5 -3)") + group(
            [lit], transform="translate(2 2.4)"
        ) + holes  # fmt: skip
    over = "".join(face.over) if fine else ""
    return (
        f"<defs>{tops}</defs>"
        + _lattice(mark, paint, face, fine=fine)
        + (shadow if fine and face.flanks else "")
        + flanks
        + f'<use href="#{mark}s" fill="url(#{mark}f)"/>'
        + (over if face.holes else "")
        + holes
    )


def _written(paths: Iterable[Path], digits: int) -> str:
    return "".join(write(*path, digits=digits) for path in paths)


def _lattice(mark: str, paint: Paint, face: Face, *, fine: bool) -> str:
    """Draw thin bars as lines: a shadow, a dark edge, a lit edge, the top."""
    if not face.lines:
        return ""
    wide = face.lines_wide
    line = f'<path id="{mark}n" d="{_written(face.lines, 1 if fine else 0)}" fill="none"/>'
    rows: tuple[tuple[str, float, str], ...] = (
        ("#000", wide, 'translate(5 8)" stroke-opacity=".3'),
        (paint.tone(-1.1), wide, "translate(1.6 2)"),
        (paint.tone(1.1), wide, "translate(-1.4 -1.8)"),
        (f"url(#{mark}f)", wide * 0.86, ""),
    )
    if not fine:
        rows = rows[1:2] + rows[3:]
    uses = "".join(
        f'<use href="#{mark}n" stroke="{colour}" stroke-width="{num(width)}"'
        + (f' transform="{move}"' if move else "")
        + "/>"
        for colour, width, move in rows
    )
    return f"<defs>{line}</defs>{uses}"


def _lip(mark: str, face: Face, sizes: Sizes, *, fine: bool) -> str:
    r = sizes.rim
    inner = face.dish or r * 0.925
    shapes = [
        ring(r, r * 0.965, f"url(#{mark}f)"),
        ring(r * 0.966, inner, f"url(#{mark}c)"),
        # a light line outside, a dark one within: the edge is seen on any paper
        ring(r + 1.5, r - 1, "#8b8d8e"),
        disc(inner, fill="none", stroke="#000", stroke_opacity=".3", stroke_width="2.5"),
    ]
    if face.dish:
        shapes.append(ring(r * 0.77, inner * 0.965, f"url(#{mark}f)"))
    return "".join(shapes) + ("" if face.holes or not fine else "".join(face.over))


def _middle(paint: Paint, sizes: Sizes, *, fine: bool) -> str:
    """Draw what is masked: nut seats and centre bore stay bare metal. The cap is off."""
    bare = Paint(BLASTED, 8)
    wall, bore = sizes.cap * 0.16, sizes.cap
    shapes = [
        dots(sizes.circle, sizes.bolts, sizes.hole * 2.3, turn=18, stroke=bare.tone(0.3)),
        dots(sizes.circle, sizes.bolts, sizes.hole * 1.5, turn=18, stroke="#141414"),
        disc(bore, fill="#1b1c1e"),
        ring(bore, bore - wall, bare.tone(0.3)),
    ]
    if fine:
        edge = ring(sizes.hub, sizes.hub - 2.5, paint.tone(-0.8), stroke_opacity=".6")
        shapes.insert(0, edge)
    return "".join(shapes)


def _light(mark: str, paint: Paint, face: Face, sizes: Sizes, size: float) -> str:
    grain, fill = lamp.grain(mark + "g", paint, size)
    _, mirrored = lamp.mirror(mark + "m", paint)
    shapes = []
    if mirrored and face.lines:
        wide = num(face.lines_wide)
        shapes.append(f'<use href="#{mark}n" stroke="{mirrored}" stroke-width="{wide}"/>')
    if fill:
        shapes.append(grain)
        shapes.append(f'<use href="#{mark}s" fill="{fill}"/>')
        shapes.append(ring(sizes.rim, face.dish or sizes.rim * 0.925, fill))
        if face.lines:
            wide = num(face.lines_wide)
            shapes.append(f'<use href="#{mark}n" stroke="{fill}" stroke-width="{wide}"/>')
    if mirrored and paint.effect is not Effect.CHROME:
        shapes.append(f'<use href="#{mark}s" fill="{mirrored}"/>')
        shapes.append(ring(sizes.rim, face.dish or sizes.rim * 0.925, mirrored))
    return "".join(shapes)
