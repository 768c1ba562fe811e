"""What comes off: where the parts are, how they are brought, and who removes each item."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from flask import request, url_for
from flask.typing import ResponseReturnValue
from flask_babel import lazy_gettext as _l

from portal.craft.answers import Removal
from portal.craft.bringing import NewTyres, OwnCosts, Whereabouts
from portal.craft.messages import CraftError
from portal.craft.parts import Bringing, Declared, Item, PartKind, PartSet, Remover
from portal.craft.removals import items_for, removals
from portal.orders.intake.draft_answers import Answers, Step
from portal.orders.intake.draft_view import DraftView, compared_ways
from portal.orders.intake.drafts import Change
from portal.shop.assessment.defaults import sensible, usual_way, usually_fitted
from portal.shop.assessment.delivery_options import Way, cost_of
from portal.shop.money import Money
from portal.web.intake.page import (
    FormGroup,
    SetFormPart,
    StepForm,
    load_step,
    pressed,
    render_step,
    save,
)
from portal.web.kit.forms import RadioChoiceField, Required, offered_by
from portal.web.kit.i18n.languages import label
from portal.web.kit.request_context import now, shop
from portal.web.kit.typed_text import ReadField, minor_text, minor_units
from portal.web.pictures.exploded import in_order

STEP = Step.COMES_OFF
NOT_ON = "none"


def _money(label: Any) -> ReadField:
    keys = {"inputmode": "decimal"}
    return ReadField(label, reader=minor_units, writer=minor_text, render_kw=keys)


class ComesOffForm(StepForm):
    """Where the wheels are, how they are brought, and the customer's own costs."""

    where = RadioChoiceField(
        _l("Where are the wheels now?"),
        [Required(_l("Choose where the wheels are now."))],
        choices=Whereabouts,
    )
    bringing = RadioChoiceField(
        _l("How will you bring them?"),
        [Required(_l("Choose how you'll bring them."))],
        choices=Bringing,
    )
    tyre_off_on_each = _money(_l("What a tyre shop charges to take off and refit one tyre"))
    trip = _money(_l("What one trip to us and back costs you"))
    day_without_car = _money(_l("A day without the car"))

    def value(self, name: str) -> Any:
        """Return the value of a field; None where this order has no such field."""
        return self[name].data if name in self else None


@dataclass(frozen=True, slots=True)
class ItemRow:
    """One removable item: the trade's answer and its field."""

    removal: Removal
    field: Any
    ours: Money
    number: int | None


@dataclass(frozen=True, slots=True)
class ItemRows:
    """One set with a row for every removable item; `new_tyres` is None where not asked."""

    part_set: PartSet
    usual: tuple[ItemRow, ...]
    further: tuple[ItemRow, ...]
    drawn: tuple[Removal, ...]
    who: Mapping[Item, Remover]
    new_tyres: Any = None


def comes_off(token: str) -> ResponseReturnValue:
    view = load_step(token, STEP)
    form = make_form(view)
    if form.sent and form.validate():
        again = pressed("then") == "look"
        stay = url_for("intake.comes_off", token=view.token, _anchor="items") if again else ""
        gone_on = save(view, STEP.value, form, change_of(view, form), step=STEP, stay=stay)
        if gone_on:
            return gone_on
    change = change_of(view, form) if form.sent else None
    return render_step(
        "intake/comes_off.html", view, STEP, form, change=change, **context(view, form)
    )


def context(view: DraftView, form: FormGroup) -> dict[str, Any]:
    where, way = asked_for(view, form.page)
    pairs = zip(view.sets, form.subs, strict=True)
    return {
        "where": where,
        "way": way,
        "drawn_for": _drawn(where, way),
        "ways": _ways(view, form),
        "sets": [_rows(one, sub, way) for one, sub in pairs],
        "usual": _usual_costs(),
        "calipers": any(one.kind is PartKind.CALIPER for one in view.sets),
    }


def _ways(view: DraftView, form: FormGroup) -> tuple[Way, ...]:
    """Return the comparison of delivery options for the answers on the page."""
    try:
        return compared_ways(change_of(view, form)(view.answers), shop(), now())
    except (CraftError, ValueError):
        # half a form can't be priced; what was saved still stands
        return compared_ways(view.answers, shop(), now())


def _usual_costs() -> dict[str, Money]:
    """Return the local costs of a tyre off and on, of a trip, and of a day without the car."""
    tariff = shop().tariff
    costs = tariff.customary
    each = {"tyre": costs.tyre_off_on_each, "trip": costs.trip, "day": costs.day_without_car}
    return {name: Money(minor, tariff.currency) for name, minor in each.items()}


def asked_for(view: DraftView, page: StepForm) -> tuple[Whereabouts | None, Bringing]:
    """Return where the parts are and how they come: chosen on the page, saved, or the default.

    An option that is impossible for where they are counts as not chosen.
    """
    declared = view.answers.declared
    where = None
    if any(one.kind is PartKind.WHEEL for one in declared.sets):
        where = _one_of(Whereabouts, page.value("where")) or _where(declared)
    declared = replace(declared, whereabouts=where)
    offered = sensible(declared)
    for way in (_one_of(Bringing, page.value("bringing")), declared.bringing):
        if way in offered:
            return where, way
    return where, usual_way(declared)


def _where(declared: Declared) -> Whereabouts:
    return declared.whereabouts or Whereabouts.ON_CAR


def _one_of(words: type[Any], text: Any) -> Any:
    return words(text) if str(text or "") in {one.value for one in words} else None


def _drawn(where: Whereabouts | None, way: Bringing) -> str:
    return f"{where or ''}/{way}"


def make_form(view: DraftView) -> FormGroup:
    declared = view.answers.declared
    costs = declared.own_costs
    wheels = any(one.kind is PartKind.WHEEL for one in declared.sets)
    data = {
        "where": _where(declared).value if wheels else None,
        "bringing": (declared.bringing or usual_way(declared)).value,
        "tyre_off_on_each": costs.tyre_off_on_each,
        "trip": costs.trip,
        "day_without_car": costs.day_without_car,
    }
    page = ComesOffForm.of(view, STEP.value, data)
    if not wheels:
        del page.where
    form = FormGroup(page)
    where, way = asked_for(view, page)
    offered = sensible(replace(declared, whereabouts=where))
    if len(offered) == 1:
        del page.bringing
    else:
        page["bringing"].choices = [(one.value, label(one)) for one in offered]
        page["bringing"].data = way.value
    form.subs = [_sub(view, page, one, where, way) for one in view.sets]
    return form


def all_removals(one: PartSet, way: Bringing) -> dict[Item, Removal]:
    """Return the removal of every item that such a part can have, fitted or not."""
    whole = replace(one, fitted=items_for(one.kind))
    return {removal.item: removal for removal in removals(whole, way)}


def _sub(
    view: DraftView, page: StepForm, one: PartSet, where: Whereabouts | None, way: Bringing
) -> SetFormPart:
    answers = all_removals(one, way)
    fields = {item.value: _field(item, removal) for item, removal in answers.items()}
    if Item.TYRE in answers and way is not Bringing.BARE:
        fields["new_tyres"] = _new_tyres(way)
    kind = type("ItemsForm", (SetFormPart,), fields)
    saved_before = f"fitted:{one.key}" in view.answers.saved
    fitted = one.fitted if saved_before else usually_fitted(one.kind, where)
    data = {
        item.value: str(who_for(removal, one.removers.get(item))) if item in fitted else NOT_ON
        for item, removal in answers.items()
    }
    data["new_tyres"] = one.new_tyres.value
    sub: SetFormPart = kind(page.part_of(f"{one.key}-"), prefix=f"{one.key}-", data=data)
    before = _drawn_before(page) or _drawn(where, way)
    _fit_to_way(sub, answers, changed=before.rpartition("/")[2] != way)
    _fit_to_where(sub, answers, one, before.partition("/")[0], where)
    if "new_tyres" in sub:
        asked = sub[Item.TYRE.value].data == Remover.US
        unchanged = before == _drawn(where, way) or sub["new_tyres"].data in offered_by(
            sub["new_tyres"]
        )
        # an answer to what is not asked is none, nor is one that another way no longer offers
        if not (asked and unchanged):
            sub["new_tyres"].data = NewTyres.SAME.value
    return sub


def _drawn_before(page: StepForm) -> str:
    """Return for which place and delivery option the page was rendered that came back."""
    if page.is_submitted():
        return request.form.get("drawn_for", "")[:40]
    return next(iter((page.unsent or {}).get("drawn_for", [])), "")


def _new_tyres(way: Bringing) -> RadioChoiceField:
    # a car can't leave on wheels without tyres
    offered = [n for n in NewTyres if n is not NewTyres.LATER or way is not Bringing.WHOLE_CAR]
    return RadioChoiceField(
        _l("New tyres going on?"), choices=[(one.value, label(one)) for one in offered]
    )


def _field(item: Item, removal: Removal) -> RadioChoiceField:
    who = {
        Remover.US: _l("We take it off and put it back") if removal.back else _l("We take it off"),
        Remover.YOU: _l("You take it off"),
        Remover.STAYS: _l("It stays on"),
    }
    # the same order for every item, whoever usually takes it off
    choices = [(one.value, said) for one, said in who.items() if one in removal.who_may]
    return RadioChoiceField(item.title, choices=[*choices, (NOT_ON, _l("Not fitted"))])


def _fit_to_way(sub: SetFormPart, answers: dict[Item, Removal], *, changed: bool) -> None:
    """Reset who removes things to the default where another delivery option was chosen."""
    for item, removal in answers.items():
        field = sub[item.value]
        offered = {one.value for one in removal.who_may}
        if field.data in set(Remover) and (changed or field.data not in offered):
            field.data = str(removal.who_may[0])


def _fit_to_where(
    sub: SetFormPart,
    answers: dict[Item, Removal],
    one: PartSet,
    before: str,
    where: Whereabouts | None,
) -> None:
    """Clear what bare wheels can't have fitted; restore the defaults for other wheels."""
    if before == (where or "") or Whereabouts.BARE not in (before, where):
        return
    for item in usually_fitted(one.kind, None):
        field = sub[item.value]
        if where is Whereabouts.BARE:
            field.data = NOT_ON
        elif field.data == NOT_ON:
            field.data = str(answers[item].who_may[0])


def who_for(removal: Removal, chosen: Remover | None) -> Remover:
    """Return who removes an item: the customer's choice where possible, else the default."""
    return chosen if chosen in removal.who_may else removal.who_may[0]


def _rows(one: PartSet, sub: SetFormPart, way: Bringing) -> ItemRows:
    now = _with_removers(one, sub)
    drawn = in_order(removals(now, way))
    # the drawing counts only what is on the parts, and the list counts with it
    numbers = {removal.item: number for number, removal in enumerate(drawn, 1)}
    answers = {r.item: r for r in drawn}
    rows = [
        ItemRow(
            answers.get(removal.item, removal),
            sub[removal.item.value],
            cost_of(one, removal, shop().tariff),
            numbers.get(removal.item),
        )
        for removal in in_order(all_removals(one, way).values())
    ]
    usual = usually_fitted(one.kind, None)
    bare = not any(r.number for r in rows)
    near = tuple(r for r in rows if r.number or (r.removal.item in usual and not bare))
    further = tuple(r for r in rows if r not in near)
    who = {r.item: r.by(now) for r in drawn}
    asked = sub["new_tyres"] if who.get(Item.TYRE) is Remover.US and "new_tyres" in sub else None
    return ItemRows(now, near, further, tuple(drawn), who, asked)


def change_of(view: DraftView, form: FormGroup) -> Change:
    """Return the change to the answers."""
    subs = {one.key: sub for one, sub in zip(view.sets, form.subs, strict=True)}
    page = form.page
    where, way = asked_for(view, page)

    def change(answers: Answers) -> Answers:
        sets = tuple(
            _with_removers(s, subs[s.key]) if s.key in subs else s for s in answers.declared.sets
        )
        costs = OwnCosts(
            tyre_off_on_each=page["tyre_off_on_each"].data,
            trip=page["trip"].data,
            day_without_car=page["day_without_car"].data,
        )
        saved = {f"fitted:{key}": 1 for key in subs} | dict(answers.saved)
        declared = replace(
            answers.declared, sets=sets, bringing=way, whereabouts=where, own_costs=costs
        )
        return replace(answers, declared=declared, saved=saved)

    return change


def _with_removers(one: PartSet, sub: SetFormPart) -> PartSet:
    who = {Item(f.short_name): f.data for f in sub if f.data in set(Remover)}
    new = _one_of(NewTyres, sub["new_tyres"].data) if "new_tyres" in sub else None
    ours = who.get(Item.TYRE) == Remover.US
    return replace(
        one,
        fitted=tuple(item for item in items_for(one.kind) if item in who),
        removers={item: Remover(value) for item, value in who.items()},
        new_tyres=(new or NewTyres.SAME) if ours else NewTyres.SAME,
    )
