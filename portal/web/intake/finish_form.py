"""The form of the Finish page: the choices, and what they lead to."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from flask_babel import lazy_gettext as _l
from wtforms import HiddenField

from portal.craft.appraise import Practice
from portal.craft.finishes import gloss_ruled_out, powders_for, systems_for
from portal.craft.fit import more_zones
from portal.craft.messages import Message
from portal.craft.offered import Stock, offered, systems_offered
from portal.craft.parts import (
    BareZone,
    FinishChoice,
    Gloss,
    PartKind,
    PartSet,
    Powder,
    System,
    Usage,
)
from portal.orders.intake.draft_view import DraftView
from portal.shop.assessment.defaults import usual_finish
from portal.web.intake.page import FormGroup, SetFormPart, StepForm
from portal.web.kit.forms import (
    CheckboxField,
    MultiCheckboxField,
    RadioChoiceField,
    Required,
    SelectChoiceField,
    TextField,
)
from portal.web.kit.i18n.languages import colour_name, label

PLACE = "finish"
FIRST_SHOWN = 16  # plates; the others are folded
GREY_CHROMA = 8.0  # CIELAB; what looks like no colour of its own
# parts that are used on a vehicle
ON_THE_ROAD = frozenset({PartKind.WHEEL, PartKind.CALIPER, PartKind.BUMPER, PartKind.FRAME})


class FinishPage(StepForm):
    """The fields that are asked once for the order."""

    usage = RadioChoiceField(_l("How will you use them?"), choices=Usage)


class FinishForm(SetFormPart):
    """The finish of one set; later choices depend on earlier ones.

    `same` is "1" where the set copies the first one's finish; `asked` is the search that the
    page shows. `ruled_out` explains for each gloss why it can't be had; `wrong_gloss` and
    `wrong_system` mark answers that were sent but are impossible.
    """

    system = RadioChoiceField(_l("Coats"), [Required(_l("Choose the coats."))])
    gloss = RadioChoiceField(_l("Gloss"), [Required(_l("Choose how shiny the finish should be."))])
    near = TextField(_l("Find a colour"), longest=40)
    asked = HiddenField()
    colour = RadioChoiceField(
        _l("Colour"),
        [Required(_l("Choose a colour, or tick “I'd rather decide from a sample”."))],
    )
    face = SelectChoiceField(_l("Colour of the face"))
    barrel = SelectChoiceField(_l("Colour inside (the barrel)"))
    bare = MultiCheckboxField(_l("Should anything else stay bare?"))
    decide_from_sample = CheckboxField(_l("I'd rather decide from a sample when I drop off"))
    same = HiddenField()

    ruled_out: Mapping[Gloss, Message]
    wrong_gloss: Message | None = None
    wrong_system = False

    def validate(self, extra_validators: Any = None) -> bool:
        """Validate the answers; a set that copies the first one has none of its own."""
        if self.same.data:
            return True
        good: bool = super().validate(extra_validators)
        if self.wrong_system:
            sentence = Message("This part can't have this finish. Choose another one.")
            return self.add_error("system", sentence)
        if self.wrong_gloss:
            why = Message("{why} Choose another gloss.", why=self.wrong_gloss)
            return self.add_error("gloss", why)
        return good


def make_form(view: DraftView, practice: Practice) -> FormGroup:
    usage = view.answers.declared.usage
    page = FinishPage.of(view, PLACE, {"usage": usage and usage.value})
    if not any(one.kind in ON_THE_ROAD for one in view.sets):
        del page.usage
    first = view.sets[0] if view.sets else None
    return FormGroup(page, [_sub(page, one, first, practice) for one in view.sets])


def usage_of(form: FormGroup) -> Usage | None:
    """Return how the parts will be used, or None where that wasn't said."""
    usage = form.page.usage.data if "usage" in form.page else None
    return next((one for one in Usage if one.value == usage), None)


def can_be_same(one: PartSet, first: PartSet | None) -> bool:
    """Return whether a set can be offered the first one's finish."""
    return first is not None and one.key != first.key and bool(systems_for(one))


def _sub(page: StepForm, one: PartSet, first: PartSet | None, practice: Practice) -> FinishForm:
    finish = one.finish or usual_finish(one, practice)
    data: dict[str, Any] = {"same": _same_by_default(one, first)}
    if finish:
        data |= {
            "system": finish.system.value,
            "gloss": finish.gloss.value,
            # a colour is never chosen for the customer
            "colour": finish.colour if one.finish else None,
            "face": finish.face,
            "barrel": finish.barrel,
            "bare": [zone.value for zone in finish.bare],
            "decide_from_sample": finish.decide_from_sample and not finish.colour,
        }
    sub = FinishForm(page.part_of(f"{one.key}-"), prefix=f"{one.key}-", data=data)
    if not can_be_same(one, first):
        sub.same.data = ""
    offer(sub, one, practice.stock)
    if sub.decide_from_sample.data:
        sub.colour.validators = []
    return sub


def _same_by_default(one: PartSet, first: PartSet | None) -> str:
    """Front and rear wheels are nearly always finished alike; other parts often aren't."""
    if first is None or one.key == first.key:
        return ""
    if one.finish is not None:
        return "1" if one.finish == first.finish else ""
    return "1" if one.kind is first.kind and systems_for(one) == systems_for(first) else ""


def offer(sub: FinishForm, one: PartSet, stock: Stock) -> None:
    """Fill the choices from the answers so far; an impossible gloss is replaced."""
    sub.bare.choices = [(zone.value, label(zone)) for zone in more_zones(one)]
    systems = systems_offered(one, stock)
    sub.system.choices = [(s.value, label(s)) for s in systems]
    sub.ruled_out = {}
    if sub.system.data not in {s.value for s in systems}:
        sub.wrong_system = bool(sub.system.data)
        sub.system.data = systems[0].value if systems else None
    if not systems:
        sub.gloss.choices, sub.colour.choices = [], []
        sub.face.choices = sub.barrel.choices = [("", "–")]
        return
    system = System(sub.system.data)
    _offer_glosses(sub, system, systems, stock)
    powders = sorted(offered(system, Gloss(sub.gloss.data), stock, sub.colour.data), key=_as_hung)
    # the chosen one is always among those that are shown at once
    late = [p for p in powders[FIRST_SHOWN:] if p.code == sub.colour.data]
    powders = late + [p for p in powders if p not in late]
    sub.colour.choices = [(p.code, colour_name(p.name)) for p in powders]
    codes = {p.code for p in powders}
    if sub.colour.data not in codes:
        sub.colour.data = None
    others = [
        ("", _l("The same colour all over")),
        *((p.code, colour_name(p.name)) for p in powders),
    ]
    for field in (sub.face, sub.barrel):
        field.choices = others
        if field.data not in codes:
            field.data = ""


def _offer_glosses(
    sub: FinishForm, system: System, systems: Sequence[System], stock: Stock
) -> None:
    """Offer every gloss that the shop has, with the reason where it is impossible here."""
    had = [g for g in Gloss if any(powders_for(s, g, stock) for s in systems)]
    reasons = {g: gloss_ruled_out(system, g, stock) for g in had}
    sub.ruled_out = {g: why for g, why in reasons.items() if why}
    sub.gloss.choices = [(g.value, label(g)) for g in had]
    possible = [g for g in had if g not in sub.ruled_out]
    if sub.gloss.data not in {g.value for g in possible}:
        known = next((g for g in Gloss if g.value == sub.gloss.data), None)
        if known is not None:
            sub.wrong_gloss = sub.ruled_out.get(known) or Message("We don't have this gloss.")
        elif sub.gloss.data:
            sub.wrong_gloss = Message("We don't have this gloss.")
        sub.gloss.data = (Gloss.GLOSS if Gloss.GLOSS in possible else possible[0]).value


def _as_hung(powder: Powder) -> tuple[bool, bool, float]:
    """Sort plates: stocked ones first, black to white, then by hue."""
    lightness, a, b = powder.lab
    grey = math.hypot(a, b) < GREY_CHROMA
    return (powder.stock_kg <= 0, not grey, lightness if grey else math.atan2(b, a) % math.tau)


def chosen(sub: FinishForm, one: PartSet) -> FinishChoice | None:
    """Return the finish on the page; its colour may still be missing.

    What nobody offered is left out here; the form refuses it beside its field.
    """
    if sub.system.data not in set(System) or sub.gloss.data not in set(Gloss):
        return None
    wheel, sample = one.kind is PartKind.WHEEL, bool(sub.decide_from_sample.data)
    colour = "" if sample else (sub.colour.data or "")
    return FinishChoice(
        system=System(sub.system.data),
        colour=colour,
        gloss=Gloss(sub.gloss.data),
        face=(sub.face.data or "") if wheel and colour else "",
        barrel=(sub.barrel.data or "") if wheel and colour else "",
        bare=tuple(BareZone(zone) for zone in sub.bare.data or () if zone in set(BareZone)),
        decide_from_sample=sample,
    )


def finishes(view: DraftView, form: FormGroup) -> dict[str, FinishChoice | None]:
    """Return the finish of each set on the page, by its key."""
    found: dict[str, FinishChoice | None] = {}
    first: FinishChoice | None = None
    for one, sub in zip(view.sets, form.subs, strict=True):
        own = like_first(first, one) if sub.same.data else chosen(sub, one)
        first = first or own
        found[one.key] = own
    return found


def like_first(first: FinishChoice | None, one: PartSet) -> FinishChoice | None:
    """Return the first set's finish for another one, without what only some parts have."""
    if first is None or one.kind is PartKind.WHEEL:
        return first
    zones = set(more_zones(one))
    return replace(first, face="", barrel="", bare=tuple(z for z in first.bare if z in zones))
