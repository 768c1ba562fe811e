"""What the Finish page tells of a set beside its answers: what each coat system costs and takes.

Every sum is the difference of two quotes of the whole order, as the bar would show them.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from portal.craft.finishes import finishes_from_samples, systems_for
from portal.craft.parts import Declared, FinishChoice, PartKind, PartSet, Powder, System
from portal.craft.powder import mass_kg
from portal.orders.intake.defaults import usual_finish
from portal.orders.intake.draft_view import DraftView, filled, weigh
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.money import Money
from portal.shop.pricing.quote import Quote
from portal.shop.shop import Shop


@dataclass(frozen=True, slots=True)
class FromSamples:
    """What it means to decide from samples: the price from – to, and how many days it can add."""

    low: Money
    high: Money
    days: int


@dataclass(frozen=True, slots=True)
class FinishFacts:
    """What the choices on one set mean.

    `extra` is what each coat system adds to the cheapest one; `second` what another colour inside
    adds; `days` how many working days a powder takes longer, by its code, where it does.
    """

    extra: Mapping[System, Money]
    second: Money | None
    samples: FromSamples | None
    days: Mapping[str, int]


def finish_facts(
    unit: UnitOfWork, seen: DraftView, one: PartSet, chosen: FinishChoice
) -> FinishFacts:
    """Return what the choices on a set of the draft mean, with `chosen` as its finish so far."""
    with unit.read() as session:
        shop = unit.shop(session)
    order, _assumed = filled(seen.answers, shop)
    asking = _Asking(unit, shop, order, one.key)
    prices = {}
    for system in systems_for(one):
        usual = usual_finish(one, shop.practice, FinishChoice(system, "", chosen.gloss))
        if usual is not None:
            prices[system] = asking.quote(replace(usual, bare=chosen.bare)).total
    least = min((sum_.minor for sum_ in prices.values()), default=0)
    return FinishFacts(
        extra={s: Money(p.minor - least, p.currency) for s, p in prices.items()},
        second=_second(asking, one, chosen, shop),
        samples=_from_samples(asking, chosen, shop),
        days=_days(seen, one, shop),
    )


@dataclass(frozen=True, slots=True)
class _Asking:
    """An order that is priced anew with another finish on one of its sets."""

    unit: UnitOfWork
    shop: Shop
    order: Declared
    key: str

    def quote(self, finish: FinishChoice) -> Quote:
        """Return the quote with this finish."""
        return self.both(finish)[1]

    def both(self, finish: FinishChoice) -> tuple[int, Quote]:
        """Return the working days that a colour from samples can add, and the quote."""
        sets = tuple(replace(s, finish=finish) if s.key == self.key else s for s in self.order.sets)
        appraisal, price = weigh(replace(self.order, sets=sets), self.shop, self.unit.now())
        return max(answer.sample_days for answer in appraisal.sets), price


def _second(asking: _Asking, one: PartSet, chosen: FinishChoice, shop: Shop) -> Money | None:
    """Return what another plain colour inside a wheel adds."""
    if one.kind is not PartKind.WHEEL:
        return None
    usual = usual_finish(one, shop.practice, replace(chosen, colour=""))
    if usual is None:
        return None
    own = shop.stock[usual.colour]
    others = (
        f.colour
        for f in finishes_from_samples(usual, shop.stock)
        if f.gloss is usual.gloss
        and f.colour != usual.colour
        and shop.stock[f.colour].effect is own.effect
    )
    other = next(others, None)
    if other is None:
        return None
    two = asking.quote(replace(usual, barrel=other)).total
    return Money(two.minor - asking.quote(usual).total.minor, two.currency)


def _from_samples(asking: _Asking, chosen: FinishChoice, shop: Shop) -> FromSamples | None:
    left = replace(chosen, colour="", face="", barrel="", decide_from_sample=True)
    if not finishes_from_samples(left, shop.stock):
        return None
    days, price = asking.both(left)
    return FromSamples(price.low, price.high, days)


def _days(seen: DraftView, one: PartSet, shop: Shop) -> dict[str, int]:
    """Return the powders of which too little is here for the whole set, with their days."""
    answer = seen.appraisal_of(one.key)
    area = answer.surface.area_m2 * one.count if answer and answer.surface else None
    return {
        powder.code: powder.lead_days
        for powder in shop.stock.values()
        if powder.lead_days and _short(powder, area, shop)
    }


def _short(powder: Powder, area_m2: float | None, shop: Shop) -> bool:
    if powder.stock_kg <= 0 or area_m2 is None:
        return powder.stock_kg <= 0
    film = sum(powder.film_um) / 2
    needed = mass_kg(area_m2, film, powder.density, shop.practice.transfer)
    return needed > powder.stock_kg
