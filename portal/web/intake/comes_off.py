"""What comes off: three ways of bringing the parts, then who takes off each thing on them."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from flask import request, url_for
from flask.typing import ResponseReturnValue
from flask_babel import lazy_gettext as _l

from portal.craft.answers import Removal
from portal.craft.parts import Bringing, Item, OwnCosts, PartSet, Remover
from portal.craft.removals import items_for, removals
from portal.orders.assuming import USUALLY_FITTED, usual_way
from portal.orders.draft_answers import Answers, Step
from portal.orders.drafting import Change
from portal.orders.looking_draft import DraftSeen
from portal.shop.money import Money
from portal.web.intake.fields import ReadField, minor_text, minor_units
from portal.web.intake.page import Bundle, PageForm, SetForm, enter, keep, pressed, show
from portal.web.kit.forms import Needed, OneField
from portal.web.kit.pictures.exploded import in_order

STEP = Step.COMES_OFF
NOT_ON = "none"


def _money(label: Any) -> ReadField:
    keys = {"inputmode": "decimal"}
    return ReadField(label, reader=minor_units, writer=minor_text, render_kw=keys)


class ComesOffForm(PageForm):
    """The way, and what the customer's own errands cost where they know better than we do."""

    bringing = OneField(
        _l("How will you bring them?"),
        [Needed(_l("Choose how you'll bring them."))],
        choices=Bringing,
    )
    tyre_off_on_each = _money(_l("What a tyre shop charges to take off and refit one tyre"))
    trip = _money(_l("What one trip to us and back costs you"))
    day_without_car = _money(_l("A day without the car"))


@dataclass(frozen=True, slots=True)
class Row:
    """One thing that may be on the parts: its answer from the trade and its field."""

    removal: Removal
    field: Any
    ours: Money | None
    number: int | None


@dataclass(frozen=True, slots=True)
class SetRows:
    """One set with a row for everything that can be on it."""

    part_set: PartSet
    usual: tuple[Row, ...]
    further: tuple[Row, ...]
    drawn: tuple[Removal, ...]
    who: Mapping[Item, Remover]


def comes_off(token: str) -> ResponseReturnValue:
    """Compare the three ways, and settle who takes off what."""
    seen = enter(token, STEP)
    form = build(seen)
    if form.sent and form.validate():
        again = pressed("then") == "look"
        stay = url_for("intake.comes_off", token=seen.token, _anchor="items") if again else ""
        gone_on = keep(seen, STEP.value, form, change_of(seen, form), step=STEP, stay=stay)
        if gone_on:
            return gone_on
    return show("intake/comes_off.html", seen, STEP, form, **shown(seen, form))


def shown(seen: DraftSeen, form: Bundle) -> dict[str, Any]:
    """Return what the page shows beside its fields."""
    way = way_of(seen, form)
    ours = {
        (item.set_key, item.item): item.ours
        for one in seen.ways
        if one.bringing is way
        for item in one.per_item
    }
    pairs = zip(seen.sets, form.subs, strict=True)
    return {"way": way, "sets": [_rows(one, sub, way, ours) for one, sub in pairs]}


def way_of(seen: DraftSeen, form: Bundle) -> Bringing:
    """Return the way as chosen on the page, else as told before, else the usual one."""
    chosen = str(form.page["bringing"].data or "")
    if chosen in {b.value for b in Bringing}:
        return Bringing(chosen)
    return seen.answers.declared.bringing or usual_way(seen.answers.declared)


def build(seen: DraftSeen) -> Bundle:
    """Return the page's form with one part for every set."""
    declared = seen.answers.declared
    costs = declared.own_costs
    way = declared.bringing or usual_way(declared)
    page = ComesOffForm.of(
        seen,
        STEP.value,
        {
            "bringing": way.value,
            "tyre_off_on_each": costs.tyre_off_on_each,
            "trip": costs.trip,
            "day_without_car": costs.day_without_car,
        },
    )
    form = Bundle(page)
    way = way_of(seen, form)
    form.subs = [_sub(seen, page, one, way) for one in seen.sets]
    return form


def all_removals(one: PartSet, way: Bringing) -> dict[Item, Removal]:
    """Return the trade's answer for everything that can be on such a part, fitted or not."""
    whole = replace(one, fitted=items_for(one.kind))
    return {removal.item: removal for removal in removals(whole, way)}


def _sub(seen: DraftSeen, page: ComesOffForm, one: PartSet, way: Bringing) -> SetForm:
    answers = all_removals(one, way)
    fields = {item.value: _field(item, removal) for item, removal in answers.items()}
    kind = type("ItemsForm", (SetForm,), fields)
    told = f"fitted:{one.key}" in seen.answers.saved
    fitted = one.fitted if told else USUALLY_FITTED.get(one.kind, ())
    data = {
        item.value: str(who_for(removal, one.removers.get(item))) if item in fitted else NOT_ON
        for item, removal in answers.items()
    }
    sub: SetForm = kind(page.part_of(f"{one.key}-"), prefix=f"{one.key}-", data=data)
    if page.is_submitted():
        _fit_to_way(sub, answers, changed=request.form.get("drawn_for", way) != way)
    return sub


def _field(item: Item, removal: Removal) -> OneField:
    who = {
        Remover.US: _l("We take it off"),
        Remover.YOU: _l("You take it off"),
        Remover.STAYS: _l("It stays on"),
    }
    # the same order for every item, whoever usually takes it off
    choices = [(one.value, said) for one, said in who.items() if one in removal.who_may]
    return OneField(item.title, choices=[*choices, (NOT_ON, _l("Not fitted"))])


def _fit_to_way(sub: SetForm, answers: dict[Item, Removal], *, changed: bool) -> None:
    """Let who takes things off start from the usual again where another way was chosen."""
    for item, removal in answers.items():
        field = sub[item.value]
        offered = {one.value for one in removal.who_may}
        if field.data in set(Remover) and (changed or field.data not in offered):
            field.data = str(removal.who_may[0])


def who_for(removal: Removal, told: Remover | None) -> Remover:
    """Return who takes an item off: as told where that is possible, else as usual."""
    return told if told in removal.who_may else removal.who_may[0]


def _rows(
    one: PartSet, sub: SetForm, way: Bringing, ours: Mapping[tuple[str, Item], Money]
) -> SetRows:
    now = _told(one, sub)
    drawn = removals(now, way)
    # the drawing counts only what is on the parts, and the list counts with it
    numbers = {removal.item: number for number, removal in enumerate(in_order(drawn), 1)}
    rows = [
        Row(r, sub[r.item.value], ours.get((one.key, r.item)), numbers.get(r.item))
        for r in in_order(all_removals(one, way).values())
    ]
    usual = USUALLY_FITTED.get(one.kind, ())
    near = tuple(r for r in rows if r.removal.item in usual or r.number)
    further = tuple(r for r in rows if r not in near)
    return SetRows(one, near, further, drawn, {r.item: r.by(now) for r in drawn})


def change_of(seen: DraftSeen, form: Bundle) -> Change:
    """Return what saving this page does to the answers."""
    told = {one.key: sub for one, sub in zip(seen.sets, form.subs, strict=True)}
    page = form.page
    way = way_of(seen, form)

    def change(answers: Answers) -> Answers:
        sets = tuple(_told(s, told[s.key]) if s.key in told else s for s in answers.declared.sets)
        costs = OwnCosts(
            tyre_off_on_each=page["tyre_off_on_each"].data,
            trip=page["trip"].data,
            day_without_car=page["day_without_car"].data,
        )
        saved = {f"fitted:{key}": 1 for key in told} | dict(answers.saved)
        declared = replace(answers.declared, sets=sets, bringing=way, own_costs=costs)
        return replace(answers, declared=declared, saved=saved)

    return change


def _told(one: PartSet, sub: SetForm) -> PartSet:
    who = {Item(f.short_name): f.data for f in sub if f.data in set(Remover)}
    return replace(
        one,
        fitted=tuple(item for item in items_for(one.kind) if item in who),
        removers={item: Remover(value) for item, value in who.items()},
    )
