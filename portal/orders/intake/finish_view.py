"""What each coat system of a set costs and takes, for the Finish page.

Every sum is the difference of two quotes of the whole order, as the bar would show them.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

from portal.craft.finishes import finishes_from_samples, systems_for
from portal.craft.parts import Declared, FinishChoice, PartKind, PartSet, Powder, System
from portal.craft.powder import mass_kg
from portal.shop.assessment.assess import Assessment, assess
from portal.shop.assessment.defaults import usual_finish
from portal.shop.money import Money
from portal.shop.shop import Shop


@dataclass(frozen=True, slots=True)
class FromSamples:
    """The effect of deciding from samples: the price range, and how many days it can add."""

    low: Money
    high: Money
    days: int


@dataclass(frozen=True, slots=True)
class FinishFacts:
    """The effect of the choices on one set.

    `extra` is what each coat system adds to the cheapest one; `second` what another colour inside
    adds; `days` how many working days a powder takes longer, by its code, where it does.
    """

    extra: Mapping[System, Money]
    second: Money | None
    samples: FromSamples | None
    days: Mapping[str, int]


def finish_facts(
    order: Assessment, one: PartSet, chosen: FinishChoice, shop: Shop, on: date
) -> FinishFacts:
    """Return what the choices on a set of the order mean, with `chosen` as its finish so far."""
    asking = _Asking(shop, on, order.declared, one.key)
    prices = {}
    for system in systems_for(one):
        usual = usual_finish(one, shop.practice, FinishChoice(system, "", chosen.gloss))
        if usual is not None:
            prices[system] = asking.total(replace(usual, bare=chosen.bare))
    least = min((sum_.minor for sum_ in prices.values()), default=0)
    return FinishFacts(
        extra={s: Money(p.minor - least, p.currency) for s, p in prices.items()},
        second=_second(asking, one, chosen, shop),
        samples=_from_samples(asking, chosen, shop),
        days=_days(order, one, shop),
    )


@dataclass(frozen=True, slots=True)
class _Asking:
    """An order that is priced anew with another finish on one of its sets."""

    shop: Shop
    on: date
    order: Declared
    key: str

    def total(self, finish: FinishChoice) -> Money:
        """Return the price with this finish."""
        return self.assessed(finish).quote.total

    def assessed(self, finish: FinishChoice) -> Assessment:
        """Return the order's assessment with this finish."""
        sets = tuple(replace(s, finish=finish) if s.key == self.key else s for s in self.order.sets)
        return assess(replace(self.order, sets=sets), self.shop, self.on)


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
    two = asking.total(replace(usual, barrel=other))
    return Money(two.minor - asking.total(usual).minor, two.currency)


def _from_samples(asking: _Asking, chosen: FinishChoice, shop: Shop) -> FromSamples | None:
    left = replace(chosen, colour="", face="", barrel="", decide_from_sample=True)
    if not finishes_from_samples(left, shop.stock):
        return None
    order = asking.assessed(left)
    return FromSamples(order.quote.low, order.quote.high, order.appraisal.sample_days)


def _days(order: Assessment, one: PartSet, shop: Shop) -> dict[str, int]:
    """Return the powders of which too little is here for the whole set, with their days."""
    answer = order.of_set(one.key)
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
