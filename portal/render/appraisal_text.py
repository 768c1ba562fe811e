"""What `python -m portal appraise FILE.toml` prints: an order file appraised and priced."""

import textwrap
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from portal.craft.answers import Appraisal, Caution, CautionKind, Mask, Removal, SetAppraisal
from portal.craft.messages import Message, Sentences
from portal.craft.parts import PartSet
from portal.craft.quantities import Box, Span, Unit, celsius, fixed, kg, m2, mm
from portal.craft.refit import guide_for
from portal.render.appraisal_data import markings_of
from portal.render.figures import span
from portal.render.reader import Reader
from portal.render.text import colour_name, label, render
from portal.shop.appraisal import Appraised, days_of
from portal.shop.assessment.delivery_options import Way
from portal.shop.money import Money
from portal.shop.pricing.quote import Quote
from portal.shop.pricing.quote_lines import QuoteLine
from portal.shop.pricing.quote_words import tax_said

WIDTH = 88


def text_of(appraised: Appraised, reader: Reader) -> str:
    """Return the appraisal as its reader reads it, at most 88 characters a line."""
    return "\n".join(_Text(reader).lines(appraised))


@dataclass(frozen=True, slots=True)
class _Text:
    reader: Reader

    def lines(self, appraised: Appraised) -> Iterator[str]:
        appraisal = appraised.order.appraisal
        yield from self._heading(Message("{shop}: appraisal", shop=appraised.shop.name), "=")
        for answer in appraisal.sets:
            yield from self._refused_set(answer) if answer.refused else self._set(answer)
        if appraisal.refused:
            yield from self._refusal(appraisal)
            return
        if appraisal.cautions:
            yield from self._heading(Message("The whole order"))
            yield from self._cautions(appraisal.cautions)
        yield from self._heading(Message("Price"))
        yield from self._price(appraised.order.quote)
        if len(appraised.ways) > 1:
            yield from self._heading(Message("Ways of bringing them"))
            for way in appraised.ways:
                yield from self._way(way)
        yield from self._heading(Message("Days"))
        yield from self._days(appraised)
        yield from self._heading(Message("After pickup"))
        for step in guide_for(appraised.order.declared):
            title, mark = step.title, "!" if step.caution else "-"
            yield from self._item(Message("{title}: {says}", title=title, says=step.says), mark)
        yield ""
        yield self._say(Message("It can be booked."))

    def _refused_set(self, answer: SetAppraisal) -> Iterator[str]:
        """Return what the set is; why we can't coat it stands at the end."""
        yield from self._set_heading(answer.part_set)
        yield from self._markings(answer)
        yield from self._surface(answer)
        yield from self._line(Message("We can't coat this. The end says why."))

    def _refusal(self, appraisal: Appraisal) -> Iterator[str]:
        yield from self._heading(Message("This order can't be booked as it is"))
        for answer in appraisal.sets:
            for one in answer.refused:
                says = Sentences(tuple(filter(None, (one.says, one.instead))))
                yield from self._item(
                    Message("Set {key}: {says}", key=answer.part_set.key, says=says)
                )
        for one in appraisal.cautions:
            if one.kind is CautionKind.REFUSE:
                yield from self._item(Sentences(tuple(filter(None, (one.says, one.instead)))))

    def _set_heading(self, one: PartSet) -> Iterator[str]:
        yield from self._heading(
            Message("Set {key}: {count} × {kind}", key=one.key, count=one.count, kind=one.kind)
        )

    def _say(self, message: Any) -> str:
        return render(message, self.reader)

    def _heading(self, message: Message, line: str = "-") -> Iterator[str]:
        text = self._say(message)
        yield from ("", text, line * len(text))

    def _line(self, message: Message, indent: int = 2) -> Iterator[str]:
        yield f"{' ' * indent}{self._say(message)}"

    def _item(self, message: Any, mark: str = "-", indent: int = 2) -> Iterator[str]:
        first = " " * indent + f"{mark} "
        yield from textwrap.wrap(
            self._say(message), WIDTH, initial_indent=first, subsequent_indent=" " * len(first)
        )

    def _items(self, label_: Any, messages: Iterable[Any]) -> Iterator[str]:
        found = list(messages)
        if found:
            yield f"  {self._say(label_)}"
            for one in found:
                yield from self._item(one, indent=4)

    def _days(self, appraised: Appraised) -> Iterator[str]:
        days = days_of(appraised)
        yield from self._line(
            Message(
                "usually {together} working days: {here} here, {outside} at the stripper, "
                "{waiting} waiting for powder",
                together=days.together,
                here=days.here,
                outside=days.outside,
                waiting=days.waiting_for_powder,
            )
        )

    def _set(self, answer: SetAppraisal) -> Iterator[str]:
        yield from self._set_heading(answer.part_set)
        yield from self._markings(answer)
        yield from self._surface(answer)
        route = answer.route
        kinds = route.kinds or Message("not told")
        if route.outside:
            days = route.outside_days
            away = Message(
                "Old finish: {kinds}, {days} working days outside", kinds=kinds, days=days
            )
            yield from self._line(away)
        else:
            yield from self._line(Message("Old finish: {kinds}", kinds=kinds))
        why = [*route.why, *route.forbids, *route.leaves, *route.to_inspect]
        yield from self._items(Message("Why"), why)
        yield from self._removals(answer)
        yield from self._coats(answer)
        yield from self._items(Message("Masked or kept bare"), map(_mask, answer.masks))
        if answer.heat:
            yield from self._items(Message("Heat"), answer.heat.said)
        yield from self._cautions(answer.cautions)

    def _surface(self, answer: SetAppraisal) -> Iterator[str]:
        found = answer.surface
        if found is None:
            yield from self._line(Message("Size not told: no area yet"))
            return
        yield from self._line(
            Message(
                "Each: {area} ± {percent} %, {box}, about {mass}",
                area=m2(round(found.area_m2, 2)),
                percent=round(found.uncertainty * 100),
                box=Box(tuple(map(round, found.envelope_mm))),
                mass=kg(round(found.mass_kg, 1)),
            )
        )
        yield from self._items(Message("Assumed"), found.assumed)

    def _markings(self, answer: SetAppraisal) -> Iterator[str]:
        found = markings_of(answer.part_set)
        for name, title in (("rim", Message("Rim")), ("tyre", Message("Tyre"))):
            if name in found:
                says = "; ".join(map(self._say, found[f"{name}_says"]))
                yield f"  {self._say(title)} {found[name]}: {says}"
                yield from self._items(Message("Assumed"), found[f"{name}_assumed"])
        yield from self._items(Message("Please check:"), found.get("rim_unsure", ()))
        if "tyre_on_rim" in found:
            yield from self._item(found["tyre_on_rim"].says, "·")
        if "rim_assumed_from_tyre" in found:
            rim = found["rim_assumed_from_tyre"]
            yield from self._line(Message("Rim taken from the tyre: {rim}", rim=rim))

    def _removals(self, answer: SetAppraisal) -> Iterator[str]:
        if answer.removals:
            yield from self._line(Message("What comes off"))
        for one in answer.removals:
            yield from self._removal(one, answer)

    def _removal(self, one: Removal, answer: SetAppraisal) -> Iterator[str]:
        who = label(one.by(answer.part_set), self.reader)
        yield f"    {one.order}. {label(one.item, self.reader)} ({who.lower()})"
        if one.before:
            yield from self._item(one.before, "!", indent=6)
        why = " ".join(map(self._say, one.why))
        yield from self._item(Message("Why: {why}", why=why), indent=6)
        yield from self._item(Message("How: {step}", step=one.step), indent=6)
        yield from self._item(Message("Tool: {tool}", tool=one.tool), indent=6)
        yield from self._item(Message("Then: {happens}", happens=one.happens), indent=6)
        if one.home:
            yield from self._item(Message("At home: {home}", home=one.home), "!", indent=6)

    def _coats(self, answer: SetAppraisal) -> Iterator[str]:
        plan = answer.coats
        if plan is None:
            yield from self._no_coats(answer)
            return
        low, high = plan.gloss_gu
        system, film = label(plan.system, self.reader), self._film(plan.film_um)
        yield f"  {system}, {film}, {low}–{high} GU"
        if plan.pre_bake:
            yield f"    - {self._say(Message('pre-bake'))} {self._bake(*plan.pre_bake)}"
        for coat in plan.coats:
            name = colour_name(coat.powder.name, self.reader)
            yield (
                f"    - {self._say(coat.role)}: {name} ({coat.powder.code}), "
                f"{self._film(coat.film_um)}, {self._bake(coat.cure_c, coat.cure_min)}"
            )
        for need in answer.needs:
            mass = kg(round(need.kg, 2))
            says = Message(
                "{code}: {mass}. {says}", code=need.powder.code, mass=mass, says=need.said
            )
            yield from self._item(says, indent=4)

    def _no_coats(self, answer: SetAppraisal) -> Iterator[str]:
        if answer.possible:
            yield from self._line(
                Message(
                    "Colour chosen from samples at drop-off, out of {count}",
                    count=len(answer.possible),
                )
            )
        else:
            yield from self._line(Message("No finish chosen yet"))

    def _film(self, film: tuple[float, float]) -> str:
        return span(Span(*film, Unit.UM), self.reader)

    def _bake(self, degrees: float, minutes: float) -> str:
        return f"{self._say(celsius(degrees))} × {minutes:g} min"

    def _cautions(self, found: Iterable[Caution]) -> Iterator[str]:
        for kind in CautionKind:
            texts = [
                " ".join(map(self._say, filter(None, (one.says, one.instead))))
                for one in found
                if one.kind is kind
            ]
            yield from self._items(kind, texts)

    def _sum(self, sum_: Money) -> str:
        return f"{sum_.major:,f}"

    def _price(self, price: Quote) -> Iterator[str]:
        for one in price.lines:
            yield f"  {self._label(one):<68} {self._sum(one.amount):>10}"
            if not one.firm:
                yield from self._line(
                    Message(
                        "depends on inspection: {low} to {high}",
                        low=self._sum(one.low),
                        high=self._sum(one.high),
                    ),
                    6,
                )
            yield from textwrap.wrap(
                self._say(one.why), WIDTH, initial_indent=" " * 6, subsequent_indent=" " * 6
            )
        yield from self._total(price)

    def _total(self, price: Quote) -> Iterator[str]:
        tax = f"{self._say(tax_said(price.tax_name))} {price.tax_percent} %"
        if not price.tax_inclusive and price.tax.minor:
            yield f"  {tax:<68} {self._sum(price.tax):>10}"
        together = self._say(Message("Together"))
        yield f"  {together:<68} {self._sum(price.total):>10} {price.total.currency}"
        if price.tax_inclusive:
            yield from self._line(
                Message("with {tax}: {sum}", tax=tax, sum=self._sum(price.tax)), 6
            )
        if not price.firm:
            low, high = self._sum(price.low), self._sum(price.high)
            yield from self._line(
                Message("from {low} to {high}, as the inspection decides", low=low, high=high), 6
            )
        if price.deposit.minor:
            yield from self._line(Message("deposit {sum}", sum=self._sum(price.deposit)), 6)

    def _label(self, one: QuoteLine) -> str:
        count = f"{one.count} × " if one.count > 1 else ""
        return f"{one.set_key + ' ' if one.set_key else ''}{count}{self._say(one.says)}"

    def _way(self, way: Way) -> Iterator[str]:
        yield from self._line(
            Message(
                "{way}: {here} here + {own} of your own = {together}; {trips} trips, {days} days "
                "without",
                way=way.bringing,
                here=self._sum(way.price),
                own=self._sum(way.own),
                together=self._sum(way.together),
                trips=way.trips,
                days=way.days_without,
            )
        )
        for errand in way.errands:
            yield from self._item(errand, indent=4)


def _mask(mask: Mask) -> Message:
    if mask.clearance_mm is None:
        return Message("{zone}: {why}", zone=mask.zone, why=mask.why)
    left = mm(fixed(mask.clearance_mm, 2))
    return Message("{zone}: {why} ({left} would be left)", zone=mask.zone, why=mask.why, left=left)
