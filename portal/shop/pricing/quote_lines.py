"""The lines of a quote: what is done to each set and to the order, why, and what it costs.

Each rule returns lines in whole minor units. A line that costs nothing, and can't cost anything
later, is left out.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from portal.craft.answers import NewPart, Removal, RouteKind, SetAppraisal
from portal.craft.bringing import NewTyres
from portal.craft.damaged import how_many
from portal.craft.facts import base_metal
from portal.craft.messages import Message
from portal.craft.open_answers import may_be_chrome
from portal.craft.parts import (
    Bringing,
    Item,
    Layer,
    Metal,
    PartKind,
    PartSet,
    Remover,
)
from portal.craft.quantities import fixed, m2
from portal.shop.money import Money, round_half_up
from portal.shop.pricing import quote_words as words
from portal.shop.pricing.part_prices import Band, PartPrice, PricedBy
from portal.shop.pricing.price_list import Tariff, Work
from portal.shop.pricing.quote_extras import effects, extra_bare, second_places


@dataclass(frozen=True, slots=True)
class QuoteLine:
    """One line. `key` is unique in a quote and begins with its set; `each` × `count` = `amount`.

    A line that is not firm depends on the inspection and lies between `low` and `high`.
    """

    key: str
    set_key: str
    says: Message
    why: Message
    amount: Money
    firm: bool
    low: Money
    high: Money
    count: int = 1
    each: Money | None = None


@dataclass(frozen=True, slots=True)
class LineCost:
    """The price of one thing in minor units: usual, lowest and highest."""

    usual: int
    low: int
    high: int


def firm(price: int) -> LineCost:
    """Return a price that doesn't depend on anything."""
    return LineCost(price, price, price)


def line(
    key: str,
    says: Message,
    why: Message,
    each: LineCost,
    currency: str,
    *,
    count: int = 1,
    set_key: str = "",
) -> QuoteLine:
    """Build a line of `count` things."""
    return QuoteLine(
        key=f"{set_key}.{key}" if set_key else key,
        set_key=set_key,
        says=says,
        why=why,
        amount=Money(each.usual * count, currency),
        firm=each.low == each.usual == each.high,
        low=Money(each.low * count, currency),
        high=Money(each.high * count, currency),
        count=count,
        each=Money(each.usual, currency) if count > 1 else None,
    )


def set_lines(answer: SetAppraisal, bringing: Bringing | None, tariff: Tariff) -> list[QuoteLine]:
    """Return the lines of one set, in the order in which the work is done."""
    one = answer.part_set
    found: list[tuple[str, Message, Message, LineCost]] = [
        *_coming_off(answer, bringing, tariff),
        *_stripping(answer, tariff),
        *_repairing(one, tariff),
        *_coating(answer, tariff),
        *_going_on(answer, bringing, tariff),
    ]
    some = {f"repair.{damage}": how_many(one, damage) for damage in one.damage}
    return [
        line(key, says, why, each, tariff.currency, count=some.get(key, one.count), set_key=one.key)
        for key, says, why, each in found
        if each.high
    ]


def of_us(answer: SetAppraisal) -> list[Removal]:
    """Return the removals that the shop does."""
    return [r for r in answer.removals if r.by(answer.part_set) is Remover.US]


Found = Iterator[tuple[str, Message, Message, LineCost]]


def _coming_off(answer: SetAppraisal, bringing: Bringing | None, tariff: Tariff) -> Found:
    if bringing is Bringing.WHOLE_CAR and answer.part_set.kind is PartKind.WHEEL:
        yield ("off_car", *words.OFF_CAR, firm(tariff.removal.wheels_off_car))
    for removal in of_us(answer):
        says = words.OFF[removal.item]
        why = removal.why[0] if removal.why else words.OFF_WHY
        yield (f"off.{removal.item}", says, why, firm(tariff.removal.off[removal.item]))


def _going_on(answer: SetAppraisal, bringing: Bringing | None, tariff: Tariff) -> Found:
    if bringing is Bringing.BARE:
        return
    back = [removal for removal in of_us(answer) if removal.back]
    for removal in back:
        new = removal.item is Item.TYRE and answer.part_set.new_tyres is NewTyres.BRING
        says, why = words.ON_NEW_TYRE if new else (words.ON[removal.item], words.ON_WHY)
        yield (f"on.{removal.item}", says, why, firm(tariff.removal.refit[removal.item]))
    wanted = {part for removal in back for part in removal.new_parts}
    for part in NewPart:
        if part in wanted:
            yield (
                f"new.{part}",
                words.NEW[part],
                words.NEW_WHY[part],
                firm(tariff.removal.new_parts[part]),
            )


def _stripping(answer: SetAppraisal, tariff: Tariff) -> Found:
    one = answer.part_set
    for kind in RouteKind:
        if kind in answer.route.kinds and kind in words.STRIP:
            price = _work(tariff.strip.routes[kind], answer, tariff)
            yield (f"strip.{kind}", *words.STRIP[kind], price)
    if not one.layers or Layer.UNKNOWN in one.layers:
        most = _work(tariff.strip.unknown, answer, tariff).high
        yield ("strip.unknown", *words.STRIP_UNKNOWN, LineCost(0, 0, most))
    if may_be_chrome(one):
        most = _work(tariff.strip.routes[RouteKind.DEPLATE], answer, tariff).high
        yield ("strip.chrome", *words.STRIP_CHROME, LineCost(0, 0, most))


def _repairing(one: PartSet, tariff: Tariff) -> Found:
    for damage, span in tariff.repairs.items():
        if damage in one.damage:
            says, why = words.REPAIRS[damage]
            yield (f"repair.{damage}", says, why, LineCost(span.usual, span.low, span.high))


def _coating(answer: SetAppraisal, tariff: Tariff) -> Found:
    one, plan = answer.part_set, answer.coats
    yield _base(answer, tariff)
    if one.build in tariff.wheels.builds and one.build in words.BUILDS:
        yield (
            f"build.{one.build}",
            *words.BUILDS[one.build],
            firm(tariff.wheels.builds[one.build]),
        )
    system = plan.system if plan else one.finish.system if one.finish else None
    if system is None:
        dearest = max(_work(work, answer, tariff).high for work in tariff.finishes.systems.values())
        yield ("finish", *words.FINISH_OPEN, LineCost(0, 0, dearest))
    else:
        yield (
            f"system.{system}",
            *words.SYSTEMS[system],
            _work(tariff.finishes.systems[system], answer, tariff),
        )
    for effect in effects(answer):
        yield (
            f"effect.{effect}",
            *words.EFFECTS[effect],
            _work(tariff.finishes.effects[effect], answer, tariff),
        )
    for place in second_places(one):
        yield (
            f"second.{place}",
            *words.SECOND[place],
            _work(tariff.finishes.second_colour, answer, tariff),
        )
    bake = _work(tariff.finishes.pre_bake, answer, tariff)
    if plan and plan.pre_bake:
        yield ("pre_bake", *words.PRE_BAKE, bake)
    elif plan and base_metal(one) is Metal.UNKNOWN:
        yield ("pre_bake.open", *words.PRE_BAKE_OPEN, LineCost(0, 0, bake.high))
    extra = len(extra_bare(answer))
    if extra:
        yield ("masking", *words.MASKING, firm(tariff.finishes.extra_bare * extra))


def _base(answer: SetAppraisal, tariff: Tariff) -> tuple[str, Message, Message, LineCost]:
    """Return the line that every part has: blasted, coated once, cured, inspected."""
    one = answer.part_set
    if one.kind is PartKind.WHEEL:
        return _wheel(one, tariff)
    return _other(answer, tariff.part_price(one.kind))


def _wheel(one: PartSet, tariff: Tariff) -> tuple[str, Message, Message, LineCost]:
    code = one.rim.diameter_code if one.rim else one.tyre.rim_code if one.tyre else None
    bands = tariff.wheels.bands
    if code is None:
        usual = _band(bands, tariff.wheels.assume).price
        span = LineCost(usual, min(b.price for b in bands), max(b.price for b in bands))
        return ("coat", words.WHEEL, words.WHEEL_OPEN, span)
    size = Decimal(str(code))
    says = Message(words.WHEEL_SIZED.msgid, size=size.normalize())
    return ("coat", says, words.WHEEL_WHY, firm(_band(bands, size).price))


def _other(answer: SetAppraisal, price: PartPrice) -> tuple[str, Message, Message, LineCost]:
    one = answer.part_set
    says = words.PARTS[one.kind]
    if price.by is PricedBy.PIECE:
        return ("coat", says, words.PIECE_WHY, firm(price.price))
    if price.by is PricedBy.BAND:
        if one.size_mm is None:
            prices = [band.price for band in price.bands]
            return ("coat", says, words.SIZE_OPEN, LineCost(prices[0], min(prices), max(prices)))
        longest = Decimal(str(max(one.size_mm)))
        return ("coat", says, words.BAND_WHY, firm(_band(price.bands, longest).price))
    areas = _areas(answer, price)
    span = LineCost(*(_by_area(price, area) for area in areas))
    if one.size_mm is None:
        return ("coat", says, words.SIZE_OPEN, span)
    why = Message(words.AREA_WHY.msgid, area=m2(fixed(float(areas[0]), 2)))
    return ("coat", says, why, span)


def _areas(answer: SetAppraisal, price: PartPrice) -> tuple[Decimal, Decimal, Decimal]:
    """Return the usual, least and largest area of one part in m².

    A size that was told has one area. Where the usual size is assumed it lies within its own
    uncertainty; where none is, between nothing and twice what the shop assumes.
    """
    area = _area(answer)
    if area is None or answer.surface is None:
        return (price.assume_m2, Decimal(0), 2 * price.assume_m2)
    if answer.part_set.size_mm is not None:
        return (area, area, area)
    unsure = Decimal(str(answer.surface.uncertainty))
    return (area, area * (1 - unsure), area * (1 + unsure))


def _by_area(price: PartPrice, area: Decimal) -> int:
    return max(price.at_least, round_half_up(area * price.per_m2))


def _band(bands: Iterable[Band], size: Decimal) -> Band:
    """Return the first band that reaches as far as `size`, or the last one."""
    last = None
    for last in bands:
        if size <= last.up_to:
            break
    assert last is not None, "a price list without bands is refused when it is read"
    return last


def _area(answer: SetAppraisal) -> Decimal | None:
    """Return the area of one part in m², rounded to two decimals as the customer sees it."""
    if answer.surface is None:
        return None
    return Decimal(str(answer.surface.area_m2)).quantize(Decimal("0.01"))


def _work(work: Work, answer: SetAppraisal, tariff: Tariff) -> LineCost:
    """Return the price of a kind of work on one part."""
    kind = answer.part_set.kind
    if kind is PartKind.WHEEL:
        return firm(work.per_wheel)
    areas = _areas(answer, tariff.part_price(kind))
    return LineCost(*(round_half_up(area * work.per_m2) for area in areas))
