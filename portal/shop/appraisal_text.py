"""The output of `python -m portal appraise FILE.toml`: an order file appraised and priced.

Pure: texts in, text and JSON-able values out. Prices include the latest tax rate of the list.
"""

import textwrap
import tomllib
from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any

from portal.craft.answers import Caution, CautionKind, SetAppraisal
from portal.craft.declared import read_declared
from portal.craft.messages import CraftError, Message
from portal.craft.parts import Declared
from portal.shop.appraisal_data import data_of, days_of, markings_of, refit_steps
from portal.shop.assessment.assess import Assessment, assess
from portal.shop.assessment.delivery_options import Way, ways
from portal.shop.money import Money
from portal.shop.pricing.quote import Quote
from portal.shop.pricing.quote_lines import QuoteLine
from portal.shop.shop import Shop, read_shop
from portal.shop.toml_lines import line_of

WIDTH = 88
LATEST = date.max


def appraise_file(text: str, shop_text: str, powders_text: str) -> tuple[str, dict[str, Any]]:
    """Return the appraisal of an order file, as text and as plain values.

    Raise CraftError whose message names line and key of the order file, or of the shop's.
    """
    try:
        # no day is asked for, so no calendar is wanted
        shop = read_shop(shop_text, powders_text, calendar_checked=True)
    except CraftError as wrong:
        raise _located(wrong, shop_text, Message("the shop file")) from None
    try:
        declared = read_declared(tomllib.loads(text))
        _check_powders(declared, shop)
        assessed = assess(declared, shop, LATEST)
    except tomllib.TOMLDecodeError as wrong:
        raise CraftError(Message("We can't read this TOML file: {why}", why=str(wrong))) from None
    except CraftError as wrong:
        raise _located(wrong, text, Message("the order")) from None
    compared = ways(declared, shop, LATEST)
    data = data_of(assessed, compared, shop.tariff)
    return ("\n".join(_text(assessed, compared, shop)), data)


def _check_powders(declared: Declared, shop: Shop) -> None:
    """Refuse a powder that the shop doesn't have: in a file it is most likely a mistake."""
    for i, one in enumerate(declared.sets):
        for key in ("colour", "face", "barrel") if one.finish else ():
            code = getattr(one.finish, key)
            if code and code not in shop.stock:
                raise CraftError(
                    Message("We have no powder “{code}”.", code=code),
                    key=f"sets[{i}].finish.{key}",
                )


def _located(wrong: CraftError, text: str, where: str) -> CraftError:
    line = line_of(text, wrong.key)
    if line is None:
        at = Message("{where}, {key}: {why}", where=where, key=wrong.key, why=wrong.sentence)
        return CraftError(at if wrong.key else wrong.sentence, key=wrong.key)
    return CraftError(
        Message(
            "{where}, line {line}, {key}: {why}",
            where=where,
            line=line,
            key=wrong.key,
            why=wrong.sentence,
        ),
        key=wrong.key,
    )


def _text(assessed: Assessment, compared: tuple[Way, ...], shop: Shop) -> Iterator[str]:
    appraisal = assessed.appraisal
    yield from _heading(f"{shop.name}: appraisal", "=")
    for answer in appraisal.sets:
        yield from _set(answer)
    if appraisal.cautions:
        yield from _heading("The whole order")
        yield from _cautions(appraisal.cautions)
    yield from _heading("Price")
    yield from _price(assessed.quote)
    if len(compared) > 1:
        yield from _heading("Ways of bringing them")
        for way in compared:
            yield from _way(way)
    yield from _heading("Days")
    days = days_of(appraisal, shop.tariff)
    yield (
        f"  usually {days['together']} working days: {days['here']} here, {days['outside']} at the "
        f"stripper, {days['waiting_for_powder']} waiting for powder"
    )
    yield from _heading("After pickup")
    for step in refit_steps(appraisal, assessed.declared.usage):
        yield from _item(f"{step.title}: {step.says}", "!" if step.caution else "-")
    yield ""
    yield "This order can't be booked as it is." if appraisal.refused else "It can be booked."


def _heading(text: str, line: str = "-") -> Iterator[str]:
    yield from ("", text, line * len(text))


def _item(text: str, mark: str = "-", indent: int = 2) -> Iterator[str]:
    first = " " * indent + f"{mark} "
    yield from textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=" " * len(first))


def _items(label: str, texts: Iterable[str]) -> Iterator[str]:
    found = list(texts)
    if found:
        yield f"  {label}"
        for one in found:
            yield from _item(one, indent=4)


def _set(answer: SetAppraisal) -> Iterator[str]:
    one = answer.part_set
    yield from _heading(f"Set {one.key}: {one.count} × {one.kind.title}")
    yield from _markings(answer)
    if answer.surface:
        side = " × ".join(f"{x:.0f}" for x in answer.surface.envelope_mm)
        yield (
            f"  Each: {answer.surface.area_m2:.2f} m² ± {answer.surface.uncertainty:.0%}, "
            f"{side} mm, about {answer.surface.mass_kg:.1f} kg"
        )
        yield from _items("Assumed", answer.surface.assumed)
    else:
        yield "  Size not told: no area yet"
    route = answer.route
    kinds = ", ".join(kind.title for kind in route.kinds)
    away = f", {route.outside_days} working days outside" if route.outside else ""
    yield f"  Old finish: {kinds or 'not told'}{away}"
    yield from _items("Why", [*route.why, *route.forbids, *route.leaves, *route.to_inspect])
    yield from _removals(answer)
    yield from _coats(answer)
    yield from _items("Masked or kept bare", [_mask(mask) for mask in answer.masks])
    if answer.heat:
        yield from _items("Heat", answer.heat.said)
    yield from _cautions(answer.cautions)


def _markings(answer: SetAppraisal) -> Iterator[str]:
    found = markings_of(answer.part_set)
    for name in ("rim", "tyre"):
        if name in found:
            yield f"  {name.capitalize()} {found[name]}: " + "; ".join(found[f"{name}_says"])
            yield from _items("Assumed", found[f"{name}_assumed"])
    if "tyre_on_rim" in found:
        yield from _item(found["tyre_on_rim"]["says"], "·")
    if "rim_assumed_from_tyre" in found:
        yield f"  Rim taken from the tyre: {found['rim_assumed_from_tyre']}"


def _removals(answer: SetAppraisal) -> Iterator[str]:
    if answer.removals:
        yield "  What comes off"
    for one in answer.removals:
        who = one.by(answer.part_set).title
        yield f"    {one.order}. {one.item.title} ({who.lower()})"
        if one.before:
            yield from _item(one.before, "!", indent=6)
        yield from _item(f"Why: {' '.join(one.why)}", indent=6)
        yield from _item(f"How: {one.step}", indent=6)
        yield from _item(f"Tool: {one.tool}", indent=6)
        yield from _item(f"Then: {one.happens}", indent=6)
        if one.home:
            yield from _item(f"At home: {one.home}", "!", indent=6)


def _coats(answer: SetAppraisal) -> Iterator[str]:
    plan = answer.coats
    if plan is None:
        if answer.possible:
            yield f"  Colour chosen from samples at drop-off, out of {len(answer.possible)}"
        else:
            yield "  No finish chosen yet"
        return
    low, high = plan.film_um
    yield f"  {plan.system.title}, {low}–{high} µm, {plan.gloss_gu[0]}–{plan.gloss_gu[1]} GU"
    if plan.pre_bake:
        yield f"    - pre-bake {plan.pre_bake[0]} °C × {plan.pre_bake[1]:g} min"
    for coat in plan.coats:
        yield (
            f"    - {coat.title}: {coat.powder.name} ({coat.powder.code}), {coat.film_um[0]}–"
            f"{coat.film_um[1]} µm, {coat.cure_c} °C × {coat.cure_min:g} min"
        )
    for need in answer.needs:
        yield from _item(f"{need.powder.code}: {need.kg:.2f} kg. {need.said}", indent=4)


def _mask(mask: Any) -> str:
    left = "" if mask.clearance_mm is None else f" ({mask.clearance_mm:.2f} mm would be left)"
    return f"{mask.zone.title}: {mask.why}{left}"


def _cautions(found: Iterable[Caution]) -> Iterator[str]:
    for kind in CautionKind:
        texts = [f"{c.says} {c.instead or ''}".strip() for c in found if c.kind is kind]
        yield from _items(kind.title, texts)


def _money(money: Money) -> str:
    return f"{money.major:,.2f}"


def _price(price: Quote) -> Iterator[str]:
    for one in price.lines:
        yield f"  {_label(one):<68.68} {_money(one.amount):>10}"
        if not one.firm:
            yield f"      depends on inspection: {_money(one.low)} to {_money(one.high)}"
        yield from textwrap.wrap(
            str(one.why), WIDTH, initial_indent=" " * 6, subsequent_indent=" " * 6
        )
    currency = price.total.currency
    if not price.tax_inclusive and price.tax.minor:
        yield f"  {price.tax_name} {price.tax_percent} %{_money(price.tax):>64}"
    yield f"  {'Together':<68} {_money(price.total):>10} {currency}"
    if price.tax_inclusive:
        yield f"      with {price.tax_name} {price.tax_percent} %: {_money(price.tax)}"
    if not price.firm:
        yield f"      from {_money(price.low)} to {_money(price.high)}, as the inspection decides"
    if price.deposit.minor:
        yield f"      deposit {_money(price.deposit)}"


def _label(one: QuoteLine) -> str:
    count = f"{one.count} × " if one.count > 1 else ""
    return f"{one.set_key + ' ' if one.set_key else ''}{count}{one.says}"


def _way(way: Way) -> Iterator[str]:
    yield (
        f"  {way.bringing.title}: {_money(way.price)} here + {_money(way.own)} of your own = "
        f"{_money(way.together)}; {way.trips} trips, {way.days_without} days without"
    )
    for errand in way.errands:
        yield from _item(errand, indent=4)
