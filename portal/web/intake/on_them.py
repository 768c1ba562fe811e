"""Old finish: the layers of each set, outermost first, and the damage."""

from dataclasses import replace
from typing import Any

from flask.typing import ResponseReturnValue
from flask_babel import lazy_gettext as _l

from portal.craft.answers import PlaceRule
from portal.craft.appraise import places_for
from portal.craft.damaged import counted, how_many, without
from portal.craft.facts import OUTERMOST_FIRST, facts_of
from portal.craft.messages import Message
from portal.craft.parts import Damage, Layer, PartKind, PartSet
from portal.craft.place import asks_permission
from portal.craft.registration import Country, Permission
from portal.orders.intake.draft_answers import Answers, Step
from portal.orders.intake.draft_view import DraftView
from portal.orders.intake.drafts import Change
from portal.shop.assessment.defaults import usual_layers
from portal.shop.money import Money
from portal.shop.pricing.consequences import of_damage, of_layer
from portal.web.intake.page import (
    FormGroup,
    SetFormPart,
    StepForm,
    load_step,
    pressed,
    render_step,
    save,
)
from portal.web.kit.forms import (
    AreaField,
    CheckboxField,
    CountField,
    MultiCheckboxField,
    RadioChoiceField,
    Required,
    SelectChoiceField,
    TextField,
    offered_by,
)
from portal.web.kit.i18n.languages import label
from portal.web.kit.request_context import shop
from portal.web.kit.typed_text import plain

STEP = Step.ON_THEM
# parts whose paint of these colours is no reason to think of lead (data/cautions.toml)
NEVER_LEADED = (PartKind.WHEEL, PartKind.CALIPER)

# what says everything there is to say, so that nothing else is ticked beside it
ALONE = (Layer.UNKNOWN, Layer.BARE)

# how a customer who has never coated anything tells them apart
LAYER_SAYS = {
    Layer.FACTORY_PAINT.value: Message("the original paint"),
    Layer.POWDER.value: Message("thick, smooth, hard"),
    Layer.LIQUID_PAINT.value: Message("runs, brush marks or dull spots"),
    Layer.PEELABLE.value: Message("soft; you can lift an edge with a fingernail"),
    Layer.WRAP.value: Message("a film with cut edges"),
    Layer.CHROME.value: Message("shines like a mirror, cold to the touch; not silver paint"),
    Layer.MACHINED.value: Message("bright metal with fine grooves under clear coat"),
    Layer.GALVANISED.value: Message("dull grey, often with a flower-like pattern"),
}
DAMAGE_SAYS = {
    Damage.KERB_RASH.value: Message("scraped along the edge"),
    Damage.CORROSION.value: Message("white threads or bubbles under the finish"),
    Damage.BEND.value: Message("dented, or out of true"),
    Damage.CRACK.value: Message("any line in the metal, even a hairline"),
    Damage.OLD_WELD.value: Message("a raised seam, a patch or a filled spot"),
}
# what differs for parts that are no wheels: many of them are steel
DAMAGE_OF_OTHERS = DAMAGE_SAYS | {
    Damage.CORROSION.value: Message("rust, white powder, or bubbles under the finish")
}


class OnThemForm(StepForm):
    """The whole page."""

    registered = SelectChoiceField(_l("Where is the vehicle registered?"))
    old = CheckboxField(_l("Painted before 1980 or not sure, or from a lorry or an aircraft"))


# the value of our own country: nothing is declared
HERE = ""
# from so many parts on, how many have a damage is typed rather than picked
MOST_PICKED = 12


class LayersForm(SetFormPart):
    """The old finish of one set; `many_…` tells how many of its parts have a damage."""

    layers = MultiCheckboxField(
        _l("Tick every layer that you know of."),
        [Required(_l("Tick at least one layer. “Don't know” is fine."))],
        choices=Layer,
    )
    # asked of what machines, gates and railings are made of
    yellow_to_red = CheckboxField(_l("The old paint is yellow, orange or red"))
    damage = MultiCheckboxField(_l("Any damage? Tick what you can see."), choices=Damage)
    which = TextField(_l("Which ones?"), longest=120, filters=[plain])
    note = AreaField(
        _l("Anything else we should know?"), longest=500, render_kw={"rows": 2}, filters=[plain]
    )

    # asked only where a rule of a place makes it count
    permission = RadioChoiceField(
        _l("Does the maker of the wheels allow this work in writing?"),
        [Required(_l("Choose whether the maker allows it. “Don't know” is fine."))],
        choices=Permission,
    )
    paper = TextField(_l("Number or date of the paper"), longest=60, filters=[plain])

    def validate(self, extra_validators: Any = None) -> bool:
        """Require the number of parts of each ticked damage; without that field all are meant."""
        good = super().validate(extra_validators)
        for value in self.damage.data or ():
            field = self.many(value)
            if field is not None and field.raw_data and not field.data and not field.errors:
                good = self.add_error(field.short_name, _l("Choose how many of them have this."))
        return good

    def many(self, damage: str) -> Any:
        """Return the field for how many parts have a damage; None for a single part."""
        return self._fields.get(f"many_{damage}")


def on_them(token: str) -> ResponseReturnValue:
    view = load_step(token, STEP)
    form = make_form(view)
    if form.sent and form.validate():
        change = change_of(view, form)
        leaving = _leaving(pressed("leave"))
        if leaving:
            change = _then_leave(change, *leaving)
        gone_on = save(view, STEP.value, form, change, step=STEP)
        if gone_on:
            return gone_on
    typed = change_of(view, form) if form.sent else None
    return render_step("intake/on_them.html", view, STEP, form, change=typed, **context(view, form))


def _leaving(button: str) -> tuple[str, Damage] | None:
    """Return the set and the damage whose parts stay at home, from the pressed button."""
    key, _colon, damage = button.partition(":")
    return (key, Damage(damage)) if damage in {d.value for d in Damage} else None


def _then_leave(change: Change, key: str, damage: Damage) -> Change:
    """Return the change that also removes the parts with this damage from the order.

    A set that would become empty stays: removing it is a button of its own.
    """

    def left(one: PartSet) -> PartSet:
        rest = without(one, (damage,))
        return rest if one.key == key and rest.count else one

    def both(answers: Answers) -> Answers:
        changed = change(answers)
        sets = tuple(left(one) for one in changed.declared.sets)
        return replace(changed, declared=replace(changed.declared, sets=sets))

    return both


def context(view: DraftView, form: FormGroup) -> dict[str, Any]:
    practice, tariff = shop().practice, shop().tariff
    return {
        "sets": [
            (
                one,
                sub,
                {v: of_layer(one, Layer(v), practice, tariff) for v in offered_by(sub.layers)},
                {v: of_damage(one, Damage(v), practice, tariff) for v in offered_by(sub.damage)},
            )
            for one, sub in zip(view.sets, form.subs, strict=True)
        ],
        **asked(view, form),
        "layer_says": LAYER_SAYS,
        "damage_says": {
            one.key: DAMAGE_SAYS if one.kind is PartKind.WHEEL else DAMAGE_OF_OTHERS
            for one in view.sets
        },
        "alone": {layer.value for layer in ALONE},
        "transport": Money(tariff.strip.transport, tariff.currency),
        "old_test": Money(tariff.strip.old_coating_check, tariff.currency),
    }


def make_form(view: DraftView) -> FormGroup:
    declared = view.answers.declared
    data = {"old": declared.original_before_1980, "registered": declared.registered or HERE}
    page = OnThemForm.of(view, STEP.value, data)
    if any(one.kind is PartKind.WHEEL for one in view.sets):
        page.registered.choices = countries()
    else:
        del page.registered
    return FormGroup(page, [layers_form(page, one) for one in view.sets])


def countries() -> list[tuple[str, Any]]:
    """Return the countries that can be named, beside that of the works."""
    named = [(one.value, label(one)) for one in Country if one.value != shop().practice.place]
    return [(HERE, _l("In this country")), *named]


def registered_in(page: Any) -> Country | None:
    """Return where the vehicle is registered, as the page has it; None for our own country."""
    value = page["registered"].data if "registered" in page else HERE
    return Country(value) if value in set(Country) else None


def _rules(page: Any, one: PartSet) -> tuple[PlaceRule, ...]:
    """Return the rules from which the maker of these wheels can exempt."""
    where = places_for(registered_in(page), shop().practice)
    return asks_permission(facts_of(one), None, where)


def asked(view: DraftView, form: FormGroup) -> dict[str, Any]:
    """Return the sets for which the permission is asked, with the first rule that asks for it."""
    page: Any = form.page
    pairs = zip(view.sets, form.subs, strict=True)
    found = [(one, sub, _rules(page, one)[0]) for one, sub in pairs if "permission" in sub]
    return {"exempted": found}


def layers_form(page: Any, one: PartSet, usual: tuple[Layer, ...] | None = None) -> LayersForm:
    """Return the form of one set; `usual` are the layers that are ticked before an answer."""
    layers = one.layers or (usual_layers(one.kind) if usual is None else usual)
    counts = {f"many_{d}": _many(one, d) for d in Damage} if one.count > 1 else {}
    sub: LayersForm = type("SetLayersForm", (LayersForm,), counts)(
        page.part_of(f"{one.key}-"),
        prefix=f"{one.key}-",
        data={
            "layers": [layer.value for layer in layers],
            "damage": [damage.value for damage in one.damage],
            "which": one.damaged_which,
            "note": one.note,
            "yellow_to_red": one.yellow_to_red,
            "permission": one.permission,
            "paper": one.permission_paper,
        }
        | {f"many_{d}": how_many(one, d) for d in one.damage},
    )
    if one.kind in NEVER_LEADED:
        del sub.yellow_to_red
    if not _rules(page, one):
        del sub.permission, sub.paper
    left_out = Layer.GALVANISED if one.kind is PartKind.WHEEL else Layer.MACHINED
    sub.layers.choices = [(m.value, label(m)) for m in Layer if m is not left_out]
    kerbed = one.kind is PartKind.WHEEL or Damage.KERB_RASH in one.damage
    sub.damage.choices = [
        (m.value, label(m)) for m in Damage if kerbed or m is not Damage.KERB_RASH
    ]
    return sub


def change_of(view: DraftView, form: FormGroup) -> Change:
    """Return the change to the answers."""
    subs = {one.key: sub for one, sub in zip(view.sets, form.subs, strict=True)}

    def change(answers: Answers) -> Answers:
        sets = tuple(
            told_layers(s, subs[s.key]) if s.key in subs else s for s in answers.declared.sets
        )
        old = bool(form.page["old"].data)
        declared = replace(
            answers.declared,
            sets=sets,
            original_before_1980=old,
            registered=registered_in(form.page),
        )
        return replace(answers, declared=declared)

    return change


def told_layers(one: PartSet, sub: LayersForm) -> PartSet:
    allowed = sub["permission"].data if "permission" in sub else None
    paper = (sub["paper"].data or "") if allowed == Permission.YES else ""
    which = replace(
        one,
        yellow_to_red="yellow_to_red" in sub and bool(sub["yellow_to_red"].data),
        damaged_which=sub.which.data or "",
        note=sub.note.data or "",
        permission=Permission(allowed) if allowed in set(Permission) else None,
        permission_paper=paper,
    )
    # what nobody offered is left out here; the form refuses it beside its field
    ticked = [one for one in Damage if one.value in (sub.damage.data or ())]
    counts = {damage: _number(sub.many(damage.value), one.count) for damage in ticked}
    return replace(counted(which, counts), layers=_layers(one, frozenset(sub.layers.data or ())))


def _layers(one: PartSet, ticked: frozenset[str]) -> tuple[Layer, ...]:
    """Return the layers, outermost first.

    "Don't know" or "Bare metal" beside nothing but what the page had ticked by itself is an
    answer of its own: without script nothing clears that tick.
    """
    found = tuple(layer for layer in OUTERMOST_FIRST if layer in ticked)
    for layer in ALONE:
        if layer in found and set(found) <= {layer, *usual_layers(one.kind)}:
            return (layer,)
    return found


def _number(field: Any, most: int) -> int:
    """Return the number of parts in a field: all where it wasn't asked, one until answered."""
    if field is None:
        return most
    text = str(field.data or "")
    if text.isdecimal() and len(text) < 5 and int(text):
        return min(int(text), most)
    return 1 if field.raw_data else most


def _many(one: PartSet, damage: Damage) -> Any:
    """Return the field that asks how many parts of a set have a damage."""
    question = _l("How many of the %(count)s?", count=one.count)
    title = label(damage)
    if one.count > MOST_PICKED:
        return CountField(question, low=1, high=one.count, description=title)
    numbers = [(str(n), str(n)) for n in range(1, one.count)]
    choices = [("", "–"), *numbers, (str(one.count), _l("all %(count)s", count=one.count))]
    return SelectChoiceField(question, choices=choices, description=title)
