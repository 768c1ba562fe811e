"""The ways of bringing the parts, side by side: money, errands, trips and days without the car.

What the shop charges comes from the quote; what the customer's own errands cost from what is
customary here, unless the customer put in other figures. Days are the usual working days in our
hands: the promise, once a drop-off is chosen, says it exactly.
"""

from dataclasses import dataclass, replace
from datetime import date

from portal.craft.answers import Appraisal, Removal, SetAppraisal
from portal.craft.appraise import Practice, appraise
from portal.craft.parts import Bringing, Declared, Item, PartKind, PartSet, Remover
from portal.craft.say import Said, say
from portal.shop.money import Money
from portal.shop.price_list import Tariff
from portal.shop.quote import Quote, quote

# what is on nearly every wheel that comes off a car, until the customer has told
USUALLY_FITTED = (Item.TYRE, Item.WEIGHTS, Item.VALVE, Item.CENTRE_CAP)


@dataclass(frozen=True, slots=True)
class PerItem:
    """One fitted item in one way: who takes it off, who else may, and what it costs if we do."""

    set_key: str
    item: Item
    remover: Remover
    who_may: tuple[Remover, ...]
    ours: Money


@dataclass(frozen=True, slots=True)
class Way:
    """One way of bringing the parts. A trip is one journey there and back.

    `own` is what the customer's errands cost: `tyres_own` + `trips_own` + `days_own`.
    """

    bringing: Bringing
    quote: Quote
    price: Money
    tyres_own: Money
    trips_own: Money
    days_own: Money
    own: Money
    together: Money
    trips: int
    days_without: int
    errands: tuple[Said, ...]
    per_item: tuple[PerItem, ...]


def sensible(declared: Declared) -> tuple[Bringing, ...]:
    """Return the ways that make sense: only wheels come on tyres, or on the car."""
    if any(one.kind is PartKind.WHEEL for one in declared.sets):
        return tuple(Bringing)
    return (Bringing.BARE,)


def ways(declared: Declared, practice: Practice, tariff: Tariff, on: date) -> tuple[Way, ...]:
    """Compare the sensible ways of bringing an order; nothing to compare without a set."""
    if not declared.sets:
        return ()
    return tuple(_way(declared, one, practice, tariff, on) for one in sensible(declared))


def brought(declared: Declared, bringing: Bringing) -> Declared:
    """Return the order brought another way: who takes what off starts from the usual again."""
    chosen = bringing is declared.bringing
    return replace(
        declared,
        bringing=bringing,
        sets=tuple(
            replace(
                one if declared.bringing else _with_usual(one),
                removers=one.removers if chosen else {},
            )
            for one in declared.sets
        ),
    )


def _with_usual(one: PartSet) -> PartSet:
    if one.kind is PartKind.WHEEL and not one.fitted:
        return replace(one, fitted=USUALLY_FITTED)
    return one


def _way(
    declared: Declared, bringing: Bringing, practice: Practice, tariff: Tariff, on: date
) -> Way:
    order = brought(declared, bringing)
    appraisal = appraise(order, practice)
    price = quote(order, appraisal, tariff, on)
    wheels = any(one.kind is PartKind.WHEEL for one in order.sets)
    tyres = sum(_tyres_elsewhere(answer) for answer in appraisal.sets)
    trips = 2 + (2 if tyres else 0)
    days = usual_days(appraisal, tariff, tyres=tyres > 0) if wheels else 0
    costs = _own(declared, tariff)
    tyres_own = Money(costs[0] * tyres, tariff.currency)
    trips_own = Money(costs[1] * trips, tariff.currency)
    days_own = Money(costs[2] * days, tariff.currency)
    own = tyres_own + trips_own + days_own
    return Way(
        bringing=bringing,
        quote=price,
        price=price.total,
        tyres_own=tyres_own,
        trips_own=trips_own,
        days_own=days_own,
        own=own,
        together=price.total + own,
        trips=trips,
        days_without=days,
        errands=_errands(bringing, wheels=wheels, tyres=tyres > 0, days=days),
        per_item=tuple(
            _per_item(answer.part_set, removal, bringing, tariff)
            for answer in appraisal.sets
            for removal in answer.removals
        ),
    )


def _own(declared: Declared, tariff: Tariff) -> tuple[int, int, int]:
    """Return the customer's own costs: a tyre off and on, a trip, a day without the car."""
    told, usual = declared.own_costs, tariff.customary
    return (
        usual.tyre_off_on_each if told.tyre_off_on_each is None else told.tyre_off_on_each,
        usual.trip if told.trip is None else told.trip,
        usual.day_without_car if told.day_without_car is None else told.day_without_car,
    )


def _tyres_elsewhere(answer: SetAppraisal) -> int:
    """Return how many tyres the customer has to have taken off and put on somewhere else."""
    one = answer.part_set
    theirs = any(r.item is Item.TYRE and r.by(one) is Remover.YOU for r in answer.removals)
    return one.count if theirs else 0


def outside_days(appraisal: Appraisal) -> int:
    """Return the working days that the longest outside strip takes."""
    return max((a.route.outside_days for a in appraisal.sets if a.route.outside), default=0)


def usual_days(appraisal: Appraisal, tariff: Tariff, *, tyres: bool = False) -> int:
    """Return the working days that the parts are away, as things usually go."""
    usual = tariff.customary
    return usual.days + outside_days(appraisal) + (usual.days_for_tyres if tyres else 0)


def _per_item(one: PartSet, removal: Removal, bringing: Bringing, tariff: Tariff) -> PerItem:
    each = tariff.removal[removal.item]
    if bringing is not Bringing.BARE:
        each += tariff.refit[removal.item]
        each += sum(tariff.new_parts[part] for part in removal.new_parts)
    return PerItem(
        set_key=one.key,
        item=removal.item,
        remover=removal.by(one),
        who_may=removal.who_may,
        ours=Money(each * one.count, tariff.currency),
    )


def _errands(bringing: Bringing, *, wheels: bool, tyres: bool, days: int) -> tuple[Said, ...]:
    """Return what the customer does, in order."""
    if not wheels:
        return (
            say("Take the parts off and bring them to us, dry and free of loose dirt."),
            say("Pick them up when they are ready and put them back on."),
        )
    if bringing is Bringing.WHOLE_CAR:
        return (
            *_tyre_shop_first(tyres=tyres),
            say("Drive the car to us. You'll need a lift home."),
            say("Pick up the car when the wheels are back on."),
            _standing(days),
        )
    return (
        say("Put the car safely on axle stands and take the wheels off."),
        *_tyre_shop_first(tyres=tyres),
        say("Bring us the wheels without tyres.")
        if bringing is Bringing.BARE
        else say("Bring us the wheels with everything fitted to them."),
        say("Pick them up when they are ready."),
        *_tyre_shop_after(tyres=tyres),
        say("Put the wheels back on and tighten them to the torque in the vehicle handbook."),
        _standing(days),
    )


def _tyre_shop_first(*, tyres: bool) -> tuple[Said, ...]:
    if not tyres:
        return ()
    return (say("Have a tyre shop take off the tyres, valves and sensors, and keep them."),)


def _tyre_shop_after(*, tyres: bool) -> tuple[Said, ...]:
    if not tyres:
        return ()
    return (say("Have a tyre shop fit and balance the tyres, with new valves or sensor seals."),)


def _standing(days: int) -> Said:
    if days == 1:
        return say(
            "Your car is off the road for about one working day, unless you have other wheels."
        )
    return say(
        "Your car is off the road for about {n} working days, unless you have other wheels.", n=days
    )
