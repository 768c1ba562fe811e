"""The eight faces of a wheel, drawn in shares of the rim's radius."""

from collections.abc import Callable
from dataclasses import dataclass, field

from portal.craft.parts import FaceStyle
from portal.web.pictures.bars import (
    Bar,
    Facet,
    Path,
    bar,
    blade,
    disc,
    disc_path,
    dots,
    polar,
)


@dataclass(slots=True)
class Face:
    """What a face is made of: spokes with tops and flanks, sheets, and more.

    `holes` are cut through to the inside, `over` lies on top of everything.
    """

    tops: list[Path] = field(default_factory=list)
    flanks: list[Facet] = field(default_factory=list)
    sheets: list[str] = field(default_factory=list)
    holes: list[str] = field(default_factory=list)
    over: list[str] = field(default_factory=list)
    # how far the flat tops stand back from the edge of a spoke
    bevel: float = 0.0
    # bars too thin for flanks of their own: centre lines, and their width
    lines: list[Path] = field(default_factory=list)
    lines_wide: float = 0.0
    # where the dish begins, in px; the rim itself where there is none
    dish: float = 0.0

    def add(self, one: Bar) -> None:
        self.tops.append(one.top)
        self.flanks += one.flanks


def few_spokes(r: float, hub: float) -> Face:
    """Draw five broad straight spokes."""
    face = Face(bevel=r * 0.03)
    for turn in range(0, 360, 72):
        ends = polar(hub * 0.75, turn), polar(r * 0.93, turn)
        face.add(bar(*ends, (r * 0.125, r * 0.088), bevel=r * 0.03, flare=r * 0.075))
    return face


def many_spokes(r: float, hub: float) -> Face:
    """Draw twenty thin spokes, as lines."""
    face = Face(lines_wide=r * 0.068)
    for turn in range(0, 360, 18):
        ends = polar(hub * 0.85, turn), polar(r * 0.94, turn)
        face.lines.append(("M", ends[0], "L", ends[1]))
    return face


def split_spokes(r: float, hub: float) -> Face:
    """Draw five spokes that fork half-way."""
    face = Face(bevel=r * 0.02)
    for turn in range(0, 360, 72):
        for lean in (-1, 1):
            ends = polar(r * 0.3, turn + lean * 7), polar(r * 0.94, turn + lean * 17)
            face.add(bar(*ends, (r * 0.058, r * 0.05), bevel=r * 0.02))
        stem = polar(hub * 0.7, turn), polar(r * 0.42, turn)
        face.tops.append(bar(*stem, (r * 0.11, r * 0.08), bevel=0).top)
    return face


def mesh(r: float, hub: float) -> Face:
    """Draw a lattice: two families of crossing bars, as lines because there are so many."""
    face, count = Face(lines_wide=r * 0.044), 16
    step = 360 / count
    for lean in (-1, 1):
        for number in range(count):
            turn = number * step
            ends = polar(hub * 0.9, turn), polar(r * 0.945, turn + lean * step * 1.5)
            face.lines.append(("M", ends[0], "L", ends[1]))
    return face


def turbine(r: float, hub: float) -> Face:
    """Draw swept blades."""
    face, count = Face(bevel=r * 0.03), 10
    for number in range(count):
        turn = number * 360 / count
        face.add(blade((hub * 0.8, turn), (r * 0.95, turn + 28), sweep=9, width=9.4))
    return face


def deep_dish(r: float, hub: float) -> Face:
    """Draw a wide dish around a small star, held by a ring of bolts."""
    face = Face(dish=r * 0.72, bevel=r * 0.026)
    for turn in range(0, 360, 60):
        ends = polar(hub * 0.7, turn), polar(r * 0.7, turn)
        face.add(bar(*ends, (r * 0.11, r * 0.085), bevel=r * 0.026, flare=r * 0.06))
    face.over.append(dots(r * 0.735, 30, r * 0.032, stroke="#000", stroke_opacity=".45"))
    face.over.append(dots(r * 0.733, 30, r * 0.018, stroke="#fff", stroke_opacity=".75"))
    return face


def steel_holes(r: float, hub: float) -> Face:
    """Draw a pressed steel disc with round holes."""
    face = Face()
    face.sheets.append(disc_path(r * 0.95))
    face.holes.append(dots(r * 0.7, 12, r * 0.15, stroke="url(#{inside})"))
    face.over += _pressed(r, (0.84, 0.52))
    return face


def solid_disc(r: float, hub: float) -> Face:
    """Draw a closed disc with a ring of slots for air."""
    face = Face()
    face.sheets.append(disc_path(r * 0.95))
    face.holes.append(dots(r * 0.83, 18, r * 0.055, share=0.38, stroke="url(#{inside})"))
    face.over += _pressed(r, (0.9, 0.73, 0.46))
    return face


def _pressed(r: float, rings: tuple[float, ...]) -> list[str]:
    """Return rings pressed into a sheet: the far edge dark, the near edge lit."""
    shapes = []
    for share in rings:
        for move, colour, strong in (("-1.6", "#000", ".32"), ("1.6", "#fff", ".3")):
            edge = disc(
                r * share, fill="none", stroke=colour, stroke_opacity=strong, stroke_width="3"
            )
            shapes.append(edge.replace("/>", f' transform="translate({move} {move})"/>'))
    return shapes


FACES: dict[FaceStyle, Callable[[float, float], Face]] = {
    FaceStyle.FEW_SPOKES: few_spokes,
    FaceStyle.MANY_SPOKES: many_spokes,
    FaceStyle.SPLIT_SPOKES: split_spokes,
    FaceStyle.MESH: mesh,
    FaceStyle.TURBINE: turbine,
    FaceStyle.DEEP_DISH: deep_dish,
    FaceStyle.STEEL_HOLES: steel_holes,
    FaceStyle.SOLID_DISC: solid_disc,
}
