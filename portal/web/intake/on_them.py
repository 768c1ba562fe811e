"""On them now: the old finish, layer by layer, and the damage, for every set."""

from dataclasses import replace
from typing import Any

from flask.typing import ResponseReturnValue
from flask_babel import lazy_gettext as _l

from portal.craft.parts import Damage, Layer, PartKind, PartSet
from portal.craft.say import say
from portal.orders.assuming import usual_layers
from portal.orders.draft_answers import Answers, Step
from portal.orders.drafting import Change
from portal.orders.looking_draft import DraftSeen
from portal.web.intake.fields import plain
from portal.web.intake.page import Bundle, PageForm, SetForm, enter, keep, show
from portal.web.kit.forms import AreaField, Needed, SomeField, TickField
from portal.web.kit.languages import titled

STEP = Step.ON_THEM
# outermost first: how layers lie on each other when several are ticked
OUTERMOST_FIRST = (
    Layer.PEELABLE,
    Layer.WRAP,
    Layer.LIQUID_PAINT,
    Layer.POWDER,
    Layer.FACTORY_PAINT,
    Layer.MACHINED,
    Layer.CHROME,
    Layer.GALVANISED,
    Layer.BARE,
    Layer.UNKNOWN,
)

# how a customer who has never coated anything tells them apart
LAYER_SAYS = {
    Layer.FACTORY_PAINT.value: say("the original paint"),
    Layer.POWDER.value: say("thick, smooth, hard"),
    Layer.LIQUID_PAINT.value: say("runs, brush marks or dull spots"),
    Layer.PEELABLE.value: say("soft; you can lift an edge with a fingernail"),
    Layer.WRAP.value: say("a film with cut edges"),
    Layer.CHROME.value: say("shines like a mirror, cold to the touch; not silver paint"),
    Layer.MACHINED.value: say("bright metal with fine grooves under clear coat"),
    Layer.GALVANISED.value: say("dull grey, often with a flower-like pattern"),
}
DAMAGE_SAYS = {
    Damage.KERB_RASH.value: say("scraped along the edge"),
    Damage.CORROSION.value: say("white threads or bubbles under the finish"),
    Damage.BEND.value: say("the wheel shakes at speed or loses air"),
    Damage.CRACK.value: say("any line in the metal, even a hairline"),
    Damage.OLD_WELD.value: say("a raised seam, a patch or a filled spot"),
}


class OnThemForm(PageForm):
    """The whole page."""

    old = TickField(_l("First painted before 1980, or from a lorry or an aircraft"))


class LayersForm(SetForm):
    """What is on one set."""

    layers = SomeField(
        _l("Tick every layer that you know of."),
        [Needed(_l("Tick at least one layer. “Don't know” is fine."))],
        choices=Layer,
    )
    damage = SomeField(_l("Any damage? Tick what you can see."), choices=Damage)
    note = AreaField(
        _l("Anything else we should know?"), longest=500, render_kw={"rows": 2}, filters=[plain]
    )


def on_them(token: str) -> ResponseReturnValue:
    """Ask what is on the parts now."""
    seen = enter(token, STEP)
    form = build(seen)
    if form.sent and form.validate():
        gone_on = keep(seen, STEP.value, form, change_of(seen, form), step=STEP)
        if gone_on:
            return gone_on
    return show("intake/on_them.html", seen, STEP, form, **shown(seen, form))


def shown(seen: DraftSeen, form: Bundle) -> dict[str, Any]:
    """Return what the page shows beside its fields."""
    return {
        "sets": list(zip(seen.sets, form.subs, strict=True)),
        "layer_says": LAYER_SAYS,
        "damage_says": DAMAGE_SAYS,
    }


def build(seen: DraftSeen) -> Bundle:
    """Return the page's form with one part for every set."""
    page = OnThemForm.of(seen, STEP.value, {"old": seen.answers.declared.original_before_1980})
    return Bundle(page, [_sub(page, one) for one in seen.sets])


def _sub(page: OnThemForm, one: PartSet) -> LayersForm:
    layers = one.layers or usual_layers(one.kind)
    sub = LayersForm(
        page.part_of(f"{one.key}-"),
        prefix=f"{one.key}-",
        data={
            "layers": [layer.value for layer in layers],
            "damage": [damage.value for damage in one.damage],
            "note": one.note,
        },
    )
    left_out = Layer.GALVANISED if one.kind is PartKind.WHEEL else Layer.MACHINED
    sub.layers.choices = [(m.value, titled(m)) for m in Layer if m is not left_out]
    return sub


def change_of(seen: DraftSeen, form: Bundle) -> Change:
    """Return what saving this page does to the answers."""
    told = {one.key: sub for one, sub in zip(seen.sets, form.subs, strict=True)}

    def change(answers: Answers) -> Answers:
        sets = tuple(_told(s, told[s.key]) if s.key in told else s for s in answers.declared.sets)
        old = bool(form.page["old"].data)
        declared = replace(answers.declared, sets=sets, original_before_1980=old)
        return replace(answers, declared=declared)

    return change


def _told(one: PartSet, sub: LayersForm) -> PartSet:
    ticked = set(sub.layers.data or ())
    return replace(
        one,
        layers=tuple(layer for layer in OUTERMOST_FIRST if layer.value in ticked),
        damage=tuple(Damage(value) for value in sub.damage.data or ()),
        note=sub.note.data or "",
    )
