"""How a finish looks: tones of one colour under the shop's lamps, and effects over them.

The lamp is at the upper left of every picture. Gloss sets how far the tones spread and how sharp
the lamp's edge is mirrored; effects add flakes, grain or depth. Tones are shifts of L* in CIELAB,
so that the shadow keeps the hue.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from portal.craft.colours import hex_of_lab
from portal.craft.parts import Effect, Gloss, PartSet, Powder, System

Lab = tuple[float, float, float]

# what hangs there before a finish is chosen: blasted metal
BLASTED: Lab = (70.0, 0.3, 2.2)
ALUMINIUM: Lab = (86.0, -0.6, 0.8)
# the middle of each gloss band at 60°, in gloss units
BAND_GU = {Gloss.MATT: 12, Gloss.SATIN: 45, Gloss.GLOSS: 78, Gloss.HIGH_GLOSS: 94}


@dataclass(frozen=True, slots=True)
class Paint:
    """One surface: its colour, its gloss in gloss units at 60°, its effect."""

    lab: Lab
    gloss_gu: float
    effect: Effect = Effect.SOLID

    @property
    def shine(self) -> float:
        """0 for dead matt, 1 for a mirror."""
        return min(1.0, max(0.0, self.gloss_gu / 95))

    @property
    def spread(self) -> float:
        """How many L* lie between a facet that faces the lamp and one that looks away."""
        if self.effect is Effect.CHROME:
            return 34
        more = {Effect.TRANSLUCENT: 3, Effect.METALLIC: 6}.get(self.effect, 0)
        return 9 + 9 * self.shine + more

    def tone(self, facing: float) -> str:
        """Return the colour of a facet: `facing` is 1 towards the lamp, -1 away from it."""
        shift = facing * self.spread
        lightness, a, b = self.lab
        # near black a shadow has no room left: then everything is lifted a little
        lightness = min(97.0, max(4.0, max(lightness, 17.0) + shift))
        chroma = 1.0
        if self.effect is Effect.TRANSLUCENT:
            # light runs through the colour twice: bright where it returns, deep where it does not
            chroma = 1.15 + 0.12 * facing
        elif facing > 0:
            chroma = 1 - 0.25 * facing * self.shine
        return hex_of_lab((lightness, a * chroma, b * chroma))


def chosen_powder(
    powders: Mapping[str, Powder], code: str, fallback: Powder | None = None
) -> Powder | None:
    """Return the powder of a code, else `fallback`."""
    return powders.get(code, fallback) if code else fallback


def paint_of(part_set: PartSet, powders: Mapping[str, Powder], code: str = "") -> Paint:
    """Return the paint of a set, or of its face or barrel where `code` names another powder."""
    finish = part_set.finish
    if finish is None:
        return Paint(BLASTED, 8)
    powder = chosen_powder(powders, code or finish.colour, powders.get(finish.colour))
    if powder is None:
        return Paint(BLASTED, BAND_GU[finish.gloss])
    return paint_of_powder(powder, finish.system, finish.gloss)


def paint_of_powder(
    powder: Powder, system: System = System.SINGLE, gloss: Gloss | None = None
) -> Paint:
    """Return how a powder looks as the colour of a coat system.

    Alone it keeps its own gloss; under a clear coat the clear coat's band counts.
    """
    alone = system in (System.SINGLE, System.TEXTURE) or gloss is None
    gloss_gu = float(powder.gloss_gu if alone or gloss is None else BAND_GU[gloss])
    paint = Paint(powder.lab, gloss_gu, powder.effect)
    if system is System.TRANSLUCENT or powder.effect is Effect.TRANSLUCENT:
        return replace(paint, effect=Effect.TRANSLUCENT)
    if system is System.CHROME_LOOK or powder.effect is Effect.CHROME:
        return replace(paint, effect=Effect.CHROME, gloss_gu=max(gloss_gu, 90))
    if powder.effect is Effect.CLEAR:
        return replace(paint, lab=ALUMINIUM, effect=Effect.METALLIC)
    if system is System.TEXTURE:
        return replace(paint, effect=Effect.TEXTURE)
    return paint
