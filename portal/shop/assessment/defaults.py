"""What is usual, where a customer has not told yet: so that a price can stand from the first page.

An assumption is always told beside the price, never reaches a booking, and never refuses
anything: only what can be done is assumed.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from portal.craft.appraise import Practice, can_have_finish
from portal.craft.bringing import Whereabouts
from portal.craft.finishes import powders_for, systems_for
from portal.craft.messages import Message
from portal.craft.parts import (
    Bringing,
    Declared,
    Effect,
    FinishChoice,
    Gloss,
    Item,
    Layer,
    PartKind,
    PartSet,
    Powder,
)

_PLAIN = Effect.SOLID

# what a part usually carries when it is brought
USUALLY_FITTED: Mapping[PartKind, tuple[Item, ...]] = {
    # a sensor is counted in: who is unsure is told to leave it so, and we look
    PartKind.WHEEL: (Item.TYRE, Item.WEIGHTS, Item.VALVE, Item.SENSOR, Item.CENTRE_CAP),
    PartKind.CALIPER: (Item.SEALS,),
}

USUAL_GLOSSES = (Gloss.GLOSS, Gloss.SATIN, Gloss.MATT, Gloss.HIGH_GLOSS)


def sensible(declared: Declared) -> tuple[Bringing, ...]:
    """Return the options that make sense for the parts and where they are.

    Only wheels come on tyres, or on the car. A car without its brake calipers can't be driven here,
    and wheels that are off the car, or bare, don't come on it.
    """
    where = declared.whereabouts
    kinds = {one.kind for one in declared.sets}
    if PartKind.WHEEL not in kinds or where is Whereabouts.BARE:
        return (Bringing.BARE,)
    if where is Whereabouts.OFF or PartKind.CALIPER in kinds:
        return (Bringing.BARE, Bringing.COMPLETE)
    return tuple(Bringing)


def usual_way(declared: Declared) -> Bringing:
    """Return the way most people bring such parts."""
    offered = sensible(declared)
    return Bringing.COMPLETE if Bringing.COMPLETE in offered else offered[0]


def usually_fitted(kind: PartKind, where: Whereabouts | None) -> tuple[Item, ...]:
    """Return what such a part usually carries; on wheels that are bare already there is nothing."""
    if kind is PartKind.WHEEL and where is Whereabouts.BARE:
        return ()
    return USUALLY_FITTED.get(kind, ())


def usual_layers(kind: PartKind) -> tuple[Layer, ...]:
    """Return the finish that such a part usually comes with."""
    return (Layer.FACTORY_PAINT,) if kind is PartKind.WHEEL else (Layer.LIQUID_PAINT,)


def usual_finish(
    part_set: PartSet, practice: Practice, begun: FinishChoice | None = None
) -> FinishChoice | None:
    """Return the plainest finish that the shop can give this set, from stock if possible.

    With `begun`, whose colour is not chosen yet, that one in its plainest colour. None where
    nothing on the shop's list can be baked on it: then nothing is assumed.
    """
    for choice in _plain_first(part_set, practice.stock, begun):
        if can_have_finish(replace(part_set, finish=choice), practice):
            return choice
    return None


def _plain_first(
    part_set: PartSet, stock: Mapping[str, Powder], begun: FinishChoice | None
) -> Iterator[FinishChoice]:
    offered = systems_for(part_set)
    systems = (begun.system,) if begun and begun.system in offered else offered
    glosses = (begun.gloss, *USUAL_GLOSSES) if begun else USUAL_GLOSSES
    bare = begun.bare if begun else ()
    for system in systems:
        for gloss in glosses:
            powders = powders_for(system, gloss, stock)
            for one in sorted(powders, key=lambda p: (p.stock_kg <= 0, p.effect is not _PLAIN)):
                yield FinishChoice(system=system, colour=one.code, gloss=gloss, bare=bare)


def with_defaults(
    declared: Declared, practice: Practice, told_fitted: frozenset[str]
) -> tuple[Declared, tuple[Message, ...]]:
    """Fill what is missing with the usual, and say what was filled."""
    said: dict[str, Message] = {}
    bringing = declared.bringing
    if bringing is None:
        bringing = usual_way(declared)
        said["bringing"] = Message("delivery: “{way}”", way=bringing)
    sets = []
    for declared_set in declared.sets:
        one = declared_set
        if not one.layers:
            one = replace(one, layers=usual_layers(one.kind))
            said["layers"] = Message("the usual old finish")
        if one.key not in told_fitted:
            # who takes them off is then the usual for the way
            one = replace(one, fitted=usually_fitted(one.kind, declared.whereabouts), removers={})
            said["fitted"] = Message("the usual parts fitted")
        if one.finish is None or not one.finish.answered:
            usual = usual_finish(one, practice, one.finish)
            if usual is not None:
                said["finish"] = (
                    Message("one plain colour") if one.finish is None else Message("a plain colour")
                )
            one = replace(one, finish=usual)
        sets.append(one)
    return replace(declared, sets=tuple(sets), bringing=bringing), tuple(said.values())
