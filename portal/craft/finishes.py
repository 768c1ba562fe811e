"""Coat systems: which powders make them, in how many coats, how thick, cured how, how glossy."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from portal.craft.answers import Coat, CoatPlan
from portal.craft.colour_names import ColourName
from portal.craft.facts import base_metal, facts_of, holds
from portal.craft.looks import CoatRole
from portal.craft.messages import CraftError, Message
from portal.craft.parts import (
    Effect,
    FinishChoice,
    Gloss,
    Metal,
    PartKind,
    PartSet,
    Powder,
    System,
)
from portal.craft.tables import sentence, toml_table

_TABLE = toml_table("finishes.toml")
_SYSTEMS: Mapping[str, Mapping[str, Any]] = _TABLE["system"]
BANDS: Mapping[Gloss, tuple[int, int]] = {
    Gloss(row["name"]): (row["range"][0], row["range"][1]) for row in _TABLE["gloss"]
}

Stock = Mapping[str, Powder]


def gloss_band(gloss_gu: float) -> Gloss:
    """Return the shop's name for a gloss in units at 60°."""
    return next((name for name, (_, high) in BANDS.items() if gloss_gu <= high), Gloss.HIGH_GLOSS)


def gloss_tolerance_gu(nominal_gu: float) -> int:
    """Return how far a reading may lie from the nominal gloss, in units (Qualicoat, ISO 2813)."""
    rows = _TABLE["tolerance"]
    return int(next((row["units"] for row in rows if nominal_gu <= row["to"]), rows[-1]["units"]))


def gloss_range_gu(nominal_gu: int) -> tuple[int, int]:
    """Return the lowest and highest gloss that is accepted, in units at 60°."""
    tolerance = gloss_tolerance_gu(nominal_gu)
    return (max(nominal_gu - tolerance, 0), nominal_gu + tolerance)


def systems_for(part_set: PartSet) -> tuple[System, ...]:
    """Return the coat systems that suit this kind of part and its metal."""
    facts = facts_of(part_set)
    row = next(row for row in _TABLE["offer"] if holds(row["when"], facts))
    return tuple(System(name) for name in row["systems"])


def system_says(system: System) -> Message:
    """Return what a coat system is, in a sentence for the customer."""
    return sentence(_SYSTEMS[system]["says"])


def system_says_short(system: System) -> Message:
    """Return what a coat system is, in a few words."""
    return sentence(_SYSTEMS[system]["short"])


def has_clear(system: System) -> bool:
    """Return whether a clear coat ends the system, and so decides its gloss."""
    return bool(_SYSTEMS[system]["clear"])


def glosses_for(system: System, stock: Stock) -> tuple[Gloss, ...]:
    """Return the gloss bands in which this system can be made from the shop's powders."""
    return tuple(gloss for gloss in BANDS if powders_for(system, gloss, stock))


def gloss_ruled_out(system: System, gloss: Gloss, stock: Stock) -> Message | None:
    """Return why a coat system can't have a gloss, None where it can."""
    rule = _SYSTEMS[system].get("no_gloss", {}).get(gloss)
    if rule:
        return Message(rule)
    if powders_for(system, gloss, stock):
        return None
    if has_clear(system) and not _clears(gloss, stock):
        return Message("We have no clear coat in this gloss.")
    return Message("We have no powder for it in this gloss.")


def powders_for(system: System, gloss: Gloss, stock: Stock) -> tuple[Powder, ...]:
    """Return the powders that can give the colour of `system` in `gloss`, those in stock first.

    Where a clear coat ends the system, any colour will do, once there is such a clear coat.
    """
    if gloss in _SYSTEMS[system].get("no_gloss", {}):
        return ()
    effects = _SYSTEMS[system]["colour"]
    colours = [powder for powder in stock.values() if powder.effect in effects]
    if has_clear(system):
        if not _clears(gloss, stock):
            return ()
    else:
        colours = [powder for powder in colours if gloss_band(powder.gloss_gu) is gloss]
    if system is System.TRANSLUCENT and _bright_base(stock) is None:
        return ()
    return tuple(sorted(colours, key=lambda powder: powder.stock_kg <= 0))


def _clears(gloss: Gloss, stock: Stock) -> list[Powder]:
    """Return the clear coats of a gloss band: in stock first, then the most of it."""
    found = [
        p for p in stock.values() if p.effect is Effect.CLEAR and gloss_band(p.gloss_gu) is gloss
    ]
    return sorted(found, key=lambda powder: (-powder.stock_kg, powder.code))


def _bright_base(stock: Stock) -> Powder | None:
    """Return the brightest neutral base: in stock before on order, metallic before chrome."""
    bright = [
        powder
        for powder in stock.values()
        if powder.effect in (Effect.CHROME, Effect.METALLIC)
        and powder.lab[0] >= _TABLE["bright_base"]["lightness"]
        and math.hypot(powder.lab[1], powder.lab[2]) <= _TABLE["bright_base"]["chroma"]
    ]
    if not bright:
        return None
    return min(bright, key=lambda p: (p.stock_kg <= 0, p.effect is Effect.CHROME, -p.lab[0]))


def finishes_from_samples(choice: FinishChoice, stock: Stock) -> tuple[FinishChoice, ...]:
    """Return the finishes that a choice from samples can lead to, the plainest first.

    Every powder of the system counts, because the customer sees all samples. In stock comes before
    on order, a plain colour before an effect, the requested gloss before another.
    """
    clear = has_clear(choice.system)
    glosses = (choice.gloss,) if clear else tuple(BANDS)
    found = [
        (powder, replace(choice, colour=powder.code, gloss=gloss, face="", barrel=""))
        for gloss in glosses
        for powder in powders_for(choice.system, gloss, stock)
    ]
    found.sort(
        key=lambda one: (
            one[0].stock_kg <= 0,
            one[0].effect is not Effect.SOLID,
            one[1].gloss is not choice.gloss,
        )
    )
    return tuple(finish for _powder, finish in found)


def can_be_made(part_set: PartSet, stock: Stock) -> bool:
    """Return whether the shop can make the finish, with some colour where none is chosen yet."""
    choice = part_set.finish
    if choice is None:
        return False
    if not choice.colour:
        return choice.system in systems_for(part_set) and bool(finishes_from_samples(choice, stock))
    try:
        coat_plan(part_set, stock)
    except CraftError:
        return False
    return True


def in_finish(part_set: PartSet, system: System, colour: str, gloss: Gloss) -> PartSet:
    """Return the parts in another finish; what stays bare does, and so do face and barrel.

    Under other coats face and barrel have the colour of the rest.
    """
    before = part_set.finish
    wanted = FinishChoice(system=system, colour=colour, gloss=gloss)
    if before is not None:
        wanted = replace(wanted, bare=before.bare)
        if system is before.system:
            wanted = replace(wanted, face=before.face, barrel=before.barrel)
    return replace(part_set, finish=wanted)


def coat_plan(part_set: PartSet, stock: Stock) -> CoatPlan:
    """Return the coats of the chosen finish, in order.

    Raise CraftError with the key of the field (`finish.colour`, `finish.gloss`, …) when no finish
    is chosen, the system doesn't suit the part, or a powder isn't on the shop's list.
    """
    choice = part_set.finish
    if choice is None:
        raise CraftError(Message("Choose a finish first."), key="finish")
    if choice.system not in systems_for(part_set):
        raise CraftError(
            Message("This part can't have this finish. Choose another one."),
            key="finish.system",
        )
    colours = _colour_coats(choice, stock, part_set.kind)
    before = _base_coat(choice, stock)
    after = _clear_coat(choice, stock)
    coats = before + colours + after
    top = coats[-1].powder
    return CoatPlan(
        system=choice.system,
        coats=coats,
        film_um=_film(before, colours, after),
        gloss_gu=gloss_range_gu(top.gloss_gu),
        pre_bake=_pre_bake(base_metal(part_set), coats),
        said=_said(choice.system, coats),
    )


def _find(code: str, stock: Stock, choice: FinishChoice, key: str) -> Powder:
    powder = stock.get(code)
    if powder is None:
        raise CraftError(
            Message("We no longer have this colour. Choose another one."),
            key=key,
        )
    if powder.effect not in _SYSTEMS[choice.system]["colour"]:
        raise CraftError(
            Message(
                "{name} doesn't come in this finish. Choose another colour.",
                name=ColourName(powder.name),
            ),
            key=key,
        )
    if not has_clear(choice.system) and gloss_band(powder.gloss_gu) is not choice.gloss:
        raise CraftError(
            Message(
                "{name} comes in another gloss: {gloss}. Choose that gloss, or another colour.",
                name=ColourName(powder.name),
                gloss=gloss_band(powder.gloss_gu),
            ),
            key=key,
        )
    return powder


def _colour_coats(choice: FinishChoice, stock: Stock, kind: PartKind) -> tuple[Coat, ...]:
    """Return one colour coat, or two where face and barrel of a wheel differ.

    Both are baked, so a second colour also means a second heat for the whole wheel.
    """
    full = bool(_SYSTEMS[choice.system]["full_first"])
    face, barrel = (choice.face or choice.colour), (choice.barrel or choice.colour)
    if kind is not PartKind.WHEEL or face == barrel:
        code = choice.colour if kind is not PartKind.WHEEL else face
        powder = _find(code, stock, choice, "finish.colour")
        return (_coat(CoatRole.COLOUR, powder, full=full),)
    share = _TABLE["share"]
    inner = _find(barrel, stock, choice, "finish.barrel" if choice.barrel else "finish.colour")
    outer = _find(face, stock, choice, "finish.face" if choice.face else "finish.colour")
    return (
        _coat(CoatRole.BARREL, inner, full=full, share=share["barrel"]),
        _coat(CoatRole.FACE, outer, full=full, share=share["face"]),
    )


def _base_coat(choice: FinishChoice, stock: Stock) -> tuple[Coat, ...]:
    if choice.system is not System.TRANSLUCENT:
        return ()
    base = _bright_base(stock)
    if base is None:
        raise CraftError(
            Message(
                "We can't offer translucent colours at the moment: the bright base coat is "
                "out. Choose another finish."
            ),
            key="finish.system",
        )
    return (_coat(CoatRole.BASE, base, full=False),)


def _clear_coat(choice: FinishChoice, stock: Stock) -> tuple[Coat, ...]:
    if not has_clear(choice.system):
        return ()
    clears = _clears(choice.gloss, stock)
    if not clears:
        raise CraftError(
            Message("We have no clear coat in this gloss. Choose another gloss."),
            key="finish.gloss",
        )
    return (_coat(CoatRole.CLEAR, clears[0], full=True),)


def _coat(role: CoatRole, powder: Powder, *, full: bool, share: float = 1.0) -> Coat:
    degrees, minutes = powder.cure
    return Coat(
        role=role,
        powder=powder,
        film_um=powder.film_um,
        cure_c=degrees,
        cure_min=float(minutes if full else minutes * _TABLE["part_cure"]),
        full_cure=full,
        share=share,
    )


def _film(*stack: Iterable[Coat]) -> tuple[int, int]:
    """Return the film range where it is thickest; colours side by side don't add up."""
    before, colours, after = (tuple(coats) for coats in stack)
    through = before + after
    low = sum(c.film_um[0] for c in through) + min(c.film_um[0] for c in colours)
    high = sum(c.film_um[1] for c in through) + max(c.film_um[1] for c in colours)
    return (low, high)


def _pre_bake(metal: Metal, coats: Iterable[Coat]) -> tuple[int, float] | None:
    """Return the bake that drives gas out of porous metal before the first coat: °C, minutes."""
    row = _TABLE["pre_bake"].get(metal)
    if row is None:
        return None
    return (max(coat.cure_c for coat in coats) + row["above_c"], float(row["minutes"]))


def _said(system: System, coats: tuple[Coat, ...]) -> tuple[Message, ...]:
    said = [system_says(system)]
    if len(coats) > 1:
        said.append(Message("{n} coats, each baked in the oven.", n=len(coats)))
    return tuple(said)
