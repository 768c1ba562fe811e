"""One answer from everything the trade knows, for an order as it was described so far."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache

from portal.craft import cautions, checks, finishes, fit, geometry, powder
from portal.craft.answers import (
    Appraisal,
    Caution,
    CoatPlan,
    Heat,
    PowderNeed,
    Removal,
    SetAppraisal,
    StripRoute,
    Surface,
)
from portal.craft.check_kinds import CheckKind
from portal.craft.facts import facts_of
from portal.craft.heat import heat
from portal.craft.messages import CraftError, Message
from portal.craft.old_finishes import route
from portal.craft.parts import Bringing, Declared, PartKind, PartSet, Powder
from portal.craft.place import Place, place_cautions, places_of
from portal.craft.registration import Country
from portal.craft.removals import removals

# appraisals of sets that are remembered: pages ask about the same one again and again
REMEMBERED = 512


@dataclass(frozen=True, slots=True)
class Practice:
    """How this shop works: its powders, its figures, its oven and its place.

    `transfer` is the share of sprayed powder that stays on the part; `heat_limit_min_at_200` the
    most heat for aluminium, in minutes at 200 °C; `oven_mm` what fits, in mm; `place` an ISO 3166
    country code; `place_decision` what the shop has decided where a rule of the place speaks
    against a job, empty as long as it hasn't; `abroad_decision` the same for vehicles that are
    registered elsewhere; `strips_lead` whether a licensed company strips paint with lead
    or chromate for it.
    """

    stock: Mapping[str, Powder] = field(default_factory=dict)
    transfer: float = 0.55
    heat_limit_min_at_200: float = 60.0
    oven_mm: tuple[float, float, float] = (2000.0, 1500.0, 1500.0)
    oven_kg: float = 200.0
    place: str = "GB"
    place_decision: str = ""
    abroad_decision: str = ""
    strips_lead: bool = True

    def __hash__(self) -> int:
        """Hash a little of it: editions are few, and equal ones are equal in all."""
        return hash((len(self.stock), self.heat_limit_min_at_200, self.oven_mm, self.place))


def appraise(declared: Declared, practice: Practice) -> Appraisal:
    """Return the appraisal of an order. Raises only CraftError, with the key of the field.

    A finish that the shop can't make any more isn't an error but a refusal, keyed by its field.
    """
    return Appraisal(
        sets=tuple(_of_set(one, i, declared, practice) for i, one in enumerate(declared.sets)),
        cautions=cautions.of_order(declared),
        bringing=declared.bringing,
    )


def can_have_finish(one: PartSet, practice: Practice) -> bool:
    """Tell whether the chosen finish of a set can be made here and baked on it."""
    hot = heat_of(one, practice)
    return hot is not None and hot.allowed


def heat_of(one: PartSet, practice: Practice) -> Heat | None:
    """Return what the chosen finish does to one part; None where it can't be made here."""
    plan, _unmade = _plan(one, practice)
    return _heat(one, plan, geometry.surface(one), practice)


def _of_set(one: PartSet, number: int, declared: Declared, practice: Practice) -> SetAppraisal:
    try:
        order = (declared.original_before_1980, declared.registered)
        return appraise_set(one, declared.bringing, practice, *order)
    except CraftError as error:
        at = f"sets[{number}]"
        key = f"{at}.{error.key}" if error.key else at
        raise CraftError(error.sentence, key=key) from error


@lru_cache(maxsize=REMEMBERED)
def appraise_set(
    one: PartSet,
    bringing: Bringing | None,
    practice: Practice,
    before_1980: bool = False,  # noqa: FBT001, FBT002  # a cache knows arguments by their place
    registered: Country | None = None,
) -> SetAppraisal:
    """Return the appraisal of one set; raise CraftError with the key of its field.

    Of a set whose colour is decided from samples nothing is refused for a powder that nobody has
    chosen: what can be done counts. No coats are returned, because none are known.
    """
    if one.count < 1:
        raise CraftError(Message("Enter how many, 1 or more."), key="count")
    as_it_comes = _as_it_comes(one, bringing, practice, registered, before_1980=before_1980)
    choice = one.finish if one.colour_open else None
    chosen = choice and finishes.finishes_from_samples(choice, practice.stock)
    if not chosen:
        return _finished(one, as_it_comes, bringing, practice)
    every = [
        _finished(replace(one, finish=finish), as_it_comes, bringing, practice) for finish in chosen
    ]
    possible = tuple(answer for answer in every if not answer.refused)
    follow = {kind for answer in possible or every for kind in answer.checks}
    usual = (possible or every)[0]
    powders = [{need.powder.code for need in answer.needs} for answer in possible]
    keys = [{caution.key for caution in answer.cautions} for answer in possible]
    return replace(
        usual,
        part_set=one,
        coats=None,
        heat=None,
        needs=tuple(need for need in usual.needs if all(need.powder.code in p for p in powders)),
        cautions=tuple(c for c in usual.cautions if all(c.key in own for own in keys)),
        possible=possible,
        checks=tuple(kind for kind in CheckKind if kind in follow),
    )


@dataclass(frozen=True, slots=True)
class _AsItComes:
    """What can be said of a set whatever its finish becomes."""

    surface: Surface | None
    route: StripRoute
    removals: tuple[Removal, ...]
    places: tuple[Place, ...]


def places_for(registered: Country | None, practice: Practice) -> tuple[Place, ...]:
    """Return the places whose rules count for a vehicle that is registered somewhere."""
    return places_of(registered, practice.place, practice.place_decision, practice.abroad_decision)


def _as_it_comes(
    one: PartSet,
    bringing: Bringing | None,
    practice: Practice,
    registered: Country | None,
    *,
    before_1980: bool,
) -> _AsItComes:
    surface = geometry.surface(one)
    way = route(one, area_m2=surface.area_m2 if surface else None, before_1980=before_1980)
    where = places_for(registered, practice)
    return _AsItComes(surface, way, removals(one, bringing, way), where)


def _finished(
    one: PartSet, as_it_comes: _AsItComes, bringing: Bringing | None, practice: Practice
) -> SetAppraisal:
    surface, way, off = as_it_comes.surface, as_it_comes.route, as_it_comes.removals
    plan, unmade = _plan(one, practice)
    hot = _heat(one, plan, surface, practice)
    facts = facts_of(one, bringing, plan)
    cautions_of_set = (
        *cautions.of_route(way),
        *cautions.of_found(one, can_strip_lead=practice.strips_lead),
        *cautions.of_items(one, off),
        *cautions.of_oven(
            surface,
            practice.oven_mm,
            practice.oven_kg,
            assumed=one.kind is not PartKind.WHEEL and one.size_mm is None,
        ),
        *unmade,
        *cautions.of_heat(hot),
        *place_cautions(facts, plan, as_it_comes.places, one),
        *cautions.from_table(one, facts),
        *cautions.of_fit(one, plan),
        cautions.of_hanging(one),
    )
    return SetAppraisal(
        part_set=one,
        surface=surface,
        route=way,
        removals=off,
        coats=plan,
        needs=_needs(one, plan, surface, practice.transfer),
        masks=fit.masks(one, plan),
        heat=hot,
        cautions=cautions_of_set,
        checks=checks.needed(facts, {caution.key for caution in cautions_of_set}),
    )


def _plan(one: PartSet, practice: Practice) -> tuple[CoatPlan | None, tuple[Caution, ...]]:
    """Return the coats of the chosen finish; or none, with a refusal where it can't be made.

    The shop's list changes while a draft lies there, so a withdrawn colour is no error.
    """
    if one.finish is None or not one.finish.colour or not finishes.systems_for(one):
        return None, ()
    try:
        return finishes.coat_plan(one, practice.stock), ()
    except CraftError as wrong:
        return None, (cautions.of_choice(wrong),)


def _heat(
    one: PartSet, plan: CoatPlan | None, surface: Surface | None, practice: Practice
) -> Heat | None:
    if plan is None:
        return None
    mass = surface.mass_kg if surface else None
    return heat(one, plan, practice.heat_limit_min_at_200, mass_kg=mass)


def _needs(
    one: PartSet, plan: CoatPlan | None, surface: Surface | None, transfer: float
) -> tuple[PowderNeed, ...]:
    if plan is None or surface is None:
        return ()
    area = surface.area_m2 * one.count
    return tuple(powder.need(coat, area, transfer) for coat in plan.coats)
