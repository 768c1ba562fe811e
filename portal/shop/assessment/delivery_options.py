"""The delivery options side by side: money, errands, trips and days without the car.

The shop's charges come from the quote; the customer's own costs are the local usual ones, unless
the customer gave other figures. Days are the usual working days in our hands: the promise, once a
drop-off is chosen, is exact.
"""

from dataclasses import dataclass, replace
from datetime import date

from portal.craft.answers import Appraisal, Removal, SetAppraisal
from portal.craft.bringing import Whereabouts
from portal.craft.messages import Message
from portal.craft.parts import Bringing, Declared, Item, PartKind, PartSet, Remover
from portal.shop.assessment.assess import assess
from portal.shop.assessment.defaults import sensible
from portal.shop.money import Money
from portal.shop.pricing.errands import errands
from portal.shop.pricing.price_list import Tariff
from portal.shop.shop import Shop

# what is on nearly every wheel that comes off a car, until the customer has told
USUALLY_FITTED = (Item.TYRE, Item.WEIGHTS, Item.VALVE, Item.CENTRE_CAP)


@dataclass(frozen=True, slots=True)
class PerItem:
    """One fitted item in one option: who removes it, who else may, and what it costs if we do."""

    set_key: str
    item: Item
    remover: Remover
    who_may: tuple[Remover, ...]
    ours: Money


@dataclass(frozen=True, slots=True)
class Way:
    """One delivery option. A trip is one journey there and back.

    `own` is the customer's own costs: `tyres_own` (for `tyres` tyres) + `trips_own` + `days_own`.
    `undrivable`: the car can't be driven meanwhile, whatever else is fitted to it.
    """

    bringing: Bringing
    price: Money
    tyres_own: Money
    trips_own: Money
    days_own: Money
    own: Money
    together: Money
    tyres: int
    trips: int
    days_without: int
    undrivable: bool
    errands: tuple[Message, ...]
    per_item: tuple[PerItem, ...]


def ways(declared: Declared, shop: Shop, on: date) -> tuple[Way, ...]:
    """Compare the sensible options of an order; without a set there are none."""
    if not declared.sets:
        return ()
    return tuple(_way(declared, one, shop, on) for one in sensible(declared))


def brought(declared: Declared, bringing: Bringing) -> Declared:
    """Return the order with another option: who removes what is reset to the default."""
    chosen = bringing is declared.bringing
    return replace(
        declared,
        bringing=bringing,
        sets=tuple(
            replace(
                one if declared.bringing else _with_usual(one, declared.whereabouts),
                removers=one.removers if chosen else {},
            )
            for one in declared.sets
        ),
    )


def _with_usual(one: PartSet, where: Whereabouts | None) -> PartSet:
    if one.kind is PartKind.WHEEL and not one.fitted and where is not Whereabouts.BARE:
        return replace(one, fitted=USUALLY_FITTED)
    return one


def _way(declared: Declared, bringing: Bringing, shop: Shop, on: date) -> Way:
    order, tariff = brought(declared, bringing), shop.tariff
    assessed = assess(order, shop, on)
    appraisal, price = assessed.appraisal, assessed.quote.total
    tyres = sum(_tyres_elsewhere(answer) for answer in appraisal.sets)
    trips = 2 + (2 if tyres else 0)
    days = usual_days(appraisal, tariff, tyres=tyres > 0) if _stands(order) else 0
    each = _own(declared, tariff)
    tyres_own = Money(each[0] * tyres, tariff.currency)
    trips_own = Money(each[1] * trips, tariff.currency)
    days_own = Money(each[2] * days, tariff.currency)
    own = tyres_own + trips_own + days_own
    return Way(
        bringing=bringing,
        price=price,
        tyres_own=tyres_own,
        trips_own=trips_own,
        days_own=days_own,
        own=own,
        together=price + own,
        tyres=tyres,
        trips=trips,
        days_without=days,
        undrivable=_has(order, PartKind.CALIPER),
        errands=errands(order, appraisal, days),
        per_item=tuple(
            PerItem(
                set_key=answer.part_set.key,
                item=removal.item,
                remover=removal.by(answer.part_set),
                who_may=removal.who_may,
                ours=cost_of(answer.part_set, removal, tariff),
            )
            for answer in appraisal.sets
            for removal in answer.removals
        ),
    )


def _has(declared: Declared, kind: PartKind) -> bool:
    return any(one.kind is kind for one in declared.sets)


def _stands(order: Declared) -> bool:
    """Return whether a car waits for its parts: for its wheels, or for its brake calipers."""
    on_car = order.whereabouts in (None, Whereabouts.ON_CAR)
    return (on_car and _has(order, PartKind.WHEEL)) or _has(order, PartKind.CALIPER)


def _own(declared: Declared, tariff: Tariff) -> tuple[int, int, int]:
    """Return the customer's own costs: a tyre off and on, a trip, a day without the car.

    Where there is only one option there is nothing to compare, so the customer's own time and trips
    don't count.
    """
    if len(sensible(declared)) == 1:
        return (0, 0, 0)
    mine, usual = declared.own_costs, tariff.customary
    return (
        usual.tyre_off_on_each if mine.tyre_off_on_each is None else mine.tyre_off_on_each,
        usual.trip if mine.trip is None else mine.trip,
        usual.day_without_car if mine.day_without_car is None else mine.day_without_car,
    )


def _tyres_elsewhere(answer: SetAppraisal) -> int:
    """Return how many tyres the customer must have removed and refitted somewhere else."""
    one = answer.part_set
    theirs = any(r.item is Item.TYRE and r.by(one) is Remover.YOU for r in answer.removals)
    return one.count if theirs else 0


def usual_days(appraisal: Appraisal, tariff: Tariff, *, tyres: bool = False) -> int:
    """Return the usual working days that the parts are away."""
    usual = tariff.customary
    return usual.days + appraisal.outside_days + (usual.days_for_tyres if tyres else 0)


def cost_of(one: PartSet, removal: Removal, tariff: Tariff) -> Money:
    """Return what a set costs more where we take this off, and put it back if we do."""
    each = tariff.removal.off[removal.item]
    if removal.back:
        each += tariff.removal.refit[removal.item]
        each += sum(tariff.removal.new_parts[part] for part in removal.new_parts)
    return Money(each * one.count, tariff.currency)
