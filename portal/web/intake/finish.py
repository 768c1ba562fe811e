"""Finish: coat system, gloss and colour of every set, drawn as ordered."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from flask import request, url_for
from flask.typing import ResponseReturnValue
from flask_babel import lazy_gettext as _l

from portal.craft.finishes import gloss_band, glosses_for, powders_for, system_says, systems_for
from portal.craft.fit import more_zones
from portal.craft.parts import BareZone, FinishChoice, Gloss, PartKind, PartSet, Powder, System
from portal.craft.say import CraftError, Said, say
from portal.orders.assuming import usual_finish
from portal.orders.draft_answers import Answers, Step
from portal.orders.drafting import Change
from portal.orders.looking_draft import DraftSeen
from portal.orders.photos import colour_at
from portal.web.intake.nearest import NearBy, near_by
from portal.web.intake.page import Bundle, PageForm, SetForm, enter, keep, pressed, show
from portal.web.kit.desk import shop, unit
from portal.web.kit.forms import Needed, OneField, PickField, SomeField, TextField, TickField
from portal.web.kit.languages import titled

STEP = Step.FINISH
PHOTO_WIDTH = 240  # CSS pixels; fits the narrowest phone
Stock = Mapping[str, Powder]


class FinishForm(SetForm):
    """The finish of one set; what can be chosen depends on what is chosen before it."""

    system = OneField(_l("How many coats?"), [Needed(_l("Choose the coats."))])
    gloss = OneField(_l("How shiny?"), [Needed(_l("Choose how shiny the finish should be."))])
    near = TextField(_l("Looking for a certain colour?"), longest=20)
    colour = OneField(_l("Which colour?"), [Needed(_l("Choose a colour."))])
    face = PickField(_l("Another colour on the face"))
    barrel = PickField(_l("Another colour inside (the barrel)"))
    bare = SomeField(_l("Should anything else stay bare?"))
    decide_from_sample = TickField(_l("I'd rather decide from a sample when I drop off"))


@dataclass(frozen=True, slots=True)
class SetShown:
    """One set with its form, what each choice means, and how it would look."""

    part_set: PartSet
    form: FinishForm
    drawn: PartSet
    colours: Mapping[str, Powder]
    system_says: Mapping[str, Said]
    colour_says: Mapping[str, Said]
    near: NearBy | None
    problem: str | None


def finish(token: str) -> ResponseReturnValue:
    """Ask for the finish of every set."""
    seen = enter(token, STEP)
    form = build(seen)
    looking = pressed("then") == "look" or _pick(form)
    if form.sent and not looking and form.validate():
        gone_on = keep(seen, STEP.value, form, change_of(seen, form), step=STEP)
        if gone_on:
            return gone_on
    return show("intake/finish.html", seen, STEP, form, **shown(seen, form))


def _pick(form: Bundle) -> bool:
    """Read a tap on a photo, as the browser sends it: `A-pick-TOKEN.x` and `.y`, in its pixels.

    The colour found there is looked for as if it had been typed. Works without a script.
    """
    for sub in form.subs:
        start = f"{sub.near.name.removesuffix('near')}pick-"
        names = [n for n in request.form if n.startswith(start) and n.endswith(".x")]
        for name in names:
            token = name.removeprefix(start).removesuffix(".x")
            across, down = (
                request.form.get(f"{start}{token}.{axis}", type=int) or 0 for axis in "xy"
            )
            if not (across or down):  # pressed by keyboard: the middle is meant
                across = down = PHOTO_WIDTH // 2
            sub.near.data = colour_at(unit(), token, across / PHOTO_WIDTH, down / PHOTO_WIDTH)
            return True
    return False


def shown(seen: DraftSeen, form: Bundle) -> dict[str, Any]:
    """Return what the page shows beside its fields."""
    return {
        "sets": [_set_shown(one, sub) for one, sub in zip(seen.sets, form.subs, strict=True)],
        "stock": shop().stock,
        "photos": seen.photos,
        "photo_width": PHOTO_WIDTH,
        "look_url": url_for("intake.finish", token=seen.token),
    }


def build(seen: DraftSeen) -> Bundle:
    """Return the page's form with one part for every set."""
    page = PageForm.of(seen, STEP.value)
    stock = shop().stock
    return Bundle(page, [_sub(page, one, stock) for one in seen.sets])


def _sub(page: PageForm, one: PartSet, stock: Stock) -> FinishForm:
    told = one.finish or usual_finish(one, shop().practice)
    data = {}
    if told:
        data = {
            "system": told.system.value,
            "gloss": told.gloss.value,
            # a colour is never chosen for the customer
            "colour": told.colour if one.finish else None,
            "face": told.face,
            "barrel": told.barrel,
            "bare": [zone.value for zone in told.bare],
            "decide_from_sample": told.decide_from_sample,
        }
    sub = FinishForm(page.part_of(f"{one.key}-"), prefix=f"{one.key}-", data=data)
    _offer(sub, one, stock)
    return sub


def _offer(sub: FinishForm, one: PartSet, stock: Stock) -> None:
    """Offer what the choices so far leave open; a gloss that can't be had gives way."""
    sub.bare.choices = [(zone.value, titled(zone)) for zone in more_zones(one)]
    systems = [s for s in systems_for(one) if glosses_for(s, stock)]
    sub.system.choices = [(s.value, titled(s)) for s in systems]
    if sub.system.data not in {s.value for s in systems}:
        sub.system.data = systems[0].value if systems else None
    if not systems:
        sub.gloss.choices, sub.colour.choices = [], []
        sub.face.choices = sub.barrel.choices = [("", "–")]
        return
    system = System(sub.system.data)
    glosses = glosses_for(system, stock)
    sub.gloss.choices = [(g.value, titled(g)) for g in glosses]
    if sub.gloss.data not in {g.value for g in glosses}:
        sub.gloss.data = (Gloss.GLOSS if Gloss.GLOSS in glosses else glosses[0]).value
    powders = powders_for(system, Gloss(sub.gloss.data), stock)
    sub.colour.choices = [(p.code, p.name) for p in powders]
    if sub.colour.data not in {p.code for p in powders}:
        sub.colour.data = None
    others = [("", _l("The same colour all over")), *((p.code, p.name) for p in powders)]
    for field in (sub.face, sub.barrel):
        field.choices = others
        if field.data not in {p.code for p in powders}:
            field.data = ""


def chosen(sub: FinishForm, one: PartSet) -> FinishChoice | None:
    """Return the finish as chosen on the page, None while something is missing."""
    if not (sub.system.data and sub.gloss.data and sub.colour.data):
        return None
    wheel = one.kind is PartKind.WHEEL
    return FinishChoice(
        system=System(sub.system.data),
        colour=sub.colour.data,
        gloss=Gloss(sub.gloss.data),
        face=(sub.face.data or "") if wheel else "",
        barrel=(sub.barrel.data or "") if wheel else "",
        bare=tuple(BareZone(zone) for zone in sub.bare.data or ()),
        decide_from_sample=bool(sub.decide_from_sample.data),
    )


def _set_shown(one: PartSet, sub: FinishForm) -> SetShown:
    stock = shop().stock
    powders = {p.code: p for p in _powders(sub, stock)}
    choice = chosen(sub, one)
    near, problem = None, None
    if sub.near.data:
        try:
            near = near_by(sub.near.data, tuple(powders.values()))
        except CraftError as error:
            problem = error.sentence
    return SetShown(
        part_set=one,
        form=sub,
        drawn=replace(one, finish=choice),
        colours=powders,
        system_says={s.value: system_says(s) for s in systems_for(one)},
        colour_says={code: powder_says(p) for code, p in powders.items()},
        near=near,
        problem=problem,
    )


def _powders(sub: FinishForm, stock: Stock) -> tuple[Powder, ...]:
    if not (sub.system.data and sub.gloss.data):
        return ()
    return powders_for(System(sub.system.data), Gloss(sub.gloss.data), stock)


def powder_says(powder: Powder) -> Said:
    """Return what stands under a swatch: code, RAL number, gloss, and whether it is here."""
    there = (
        say("In stock")
        if powder.stock_kg > 0
        else say("To order: {days} working days longer", days=powder.lead_days)
    )
    values = {
        "code": powder.code,
        "gloss": gloss_band(powder.gloss_gu),
        "units": powder.gloss_gu,
        "there": there,
    }
    if powder.ral:
        return say("{code}, {ral}. {gloss}, {units} units, {there}.", ral=powder.ral, **values)
    return say("{code}. {gloss}, {units} units, {there}.", **values)


def change_of(seen: DraftSeen, form: Bundle) -> Change:
    """Return what saving this page does to the answers."""
    told = {one.key: sub for one, sub in zip(seen.sets, form.subs, strict=True)}

    def change(answers: Answers) -> Answers:
        sets = tuple(
            replace(s, finish=chosen(told[s.key], s) or s.finish) if s.key in told else s
            for s in answers.declared.sets
        )
        return replace(answers, declared=replace(answers.declared, sets=sets))

    return change
