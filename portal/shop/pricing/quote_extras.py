"""What a finish asks for beyond a coat in one colour: effects, second colours, bare surfaces."""

from portal.craft.answers import SetAppraisal
from portal.craft.looks import CoatRole
from portal.craft.parts import BareZone, Effect, PartKind, PartSet
from portal.shop.pricing import quote_words as words

# surfaces whose masking is in the price of the part
INCLUDED = {
    PartKind.WHEEL: frozenset(BareZone) - {BareZone.THREADS, BareZone.SLIDING_FACES},
    PartKind.CALIPER: frozenset(BareZone),
}


def effects(answer: SetAppraisal) -> list[Effect]:
    """Return each effect that some colour of the plan has, once; bases belong to the system."""
    if answer.coats is None:
        return []
    colours = [
        coat for coat in answer.coats.coats if coat.role not in {CoatRole.BASE, CoatRole.CLEAR}
    ]
    found = {coat.powder.effect for coat in colours}
    return [effect for effect in Effect if effect in found and effect in words.EFFECTS]


def second_places(one: PartSet) -> list[str]:
    """Return the places that get another colour than the rest."""
    if one.finish is None:
        return []
    places = {"face": one.finish.face, "barrel": one.finish.barrel}
    return [place for place, code in places.items() if code and code != one.finish.colour]


def extra_bare(answer: SetAppraisal) -> set[BareZone]:
    """Return the zones to be masked beyond those that the price of the part contains."""
    one = answer.part_set
    zones = {mask.zone for mask in answer.masks}
    if one.finish:
        zones |= set(one.finish.bare)
    return zones - INCLUDED.get(one.kind, frozenset({BareZone.STAMPS}))
