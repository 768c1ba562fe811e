"""Parts: what are you bringing? One form for each set; several sets are shown as a list."""

from dataclasses import dataclass, replace
from typing import Any

from flask import redirect, url_for
from flask.typing import ResponseReturnValue
from flask_babel import lazy_gettext as _l

from portal.craft.answers import RouteKind
from portal.craft.geometry import usual_size
from portal.craft.messages import Message
from portal.craft.old_finishes import route
from portal.craft.parts import Closed, FaceStyle, Metal, PartKind, PartSet, WheelBuild
from portal.orders.intake import drafts
from portal.orders.intake.draft_answers import Answers, Step, like_an_earlier
from portal.orders.intake.draft_view import DraftView
from portal.shop.money import Money
from portal.shop.pricing.part_prices import SINCE_LATER
from portal.web.intake import art
from portal.web.intake.page import (
    FormGroup,
    StepForm,
    load_step,
    next_step,
    page_url,
    pressed,
    render_step,
    save,
    standing,
)
from portal.web.intake.photos import take_photos
from portal.web.intake.set_form import FOUR, SetForm
from portal.web.kit.lengths import length_text
from portal.web.kit.request_context import shop, unit
from portal.web.kit.sides import area_says

STEP = Step.PARTS
BUILD_SAYS = {
    WheelBuild.CAST.value: Message("most alloy wheels"),
    WheelBuild.FORGED.value: Message("often marked FORGED"),
    WheelBuild.STEEL.value: Message("a magnet sticks"),
    WheelBuild.MULTI_PIECE.value: Message("a ring of small bolts: bring them taken apart"),
    WheelBuild.MAGNESIUM.value: Message("marked MG: we can't coat it"),
    WheelBuild.CARBON.value: Message("woven look: we can't coat it"),
    WheelBuild.UNKNOWN.value: Message("we check the metal"),
}
METAL_SAYS = {
    Metal.STEEL.value: Message("a magnet sticks"),
    Metal.GALVANISED.value: Message("grey zinc: small pinholes are possible"),
    Metal.ZINC_DIECAST.value: Message("heavy and grey: small pinholes are possible"),
    Metal.CAST_IRON.value: Message("rough, a magnet sticks: small pinholes are possible"),
    Metal.MAGNESIUM.value: Message("very light, marked MG: we can't coat it"),
    Metal.CARBON.value: Message("woven look: we can't coat it"),
    Metal.UNKNOWN.value: Message("we check the metal"),
}
CLOSED_SAYS = {
    Closed.TANK.value: Message("only with a gas-free certificate, valves out"),
    Closed.PRESSURE.value: Message("take it off: it bursts in the oven"),
    Closed.AIRBAG.value: Message("we can't take it: heat sets it off"),
    Closed.SEALED_TUBE.value: Message("only with a vent hole drilled"),
    Closed.SPRING.value: Message("never with acid; we blast it only"),
    Closed.GLUED.value: Message("must come out first: the glue lets go"),
    Closed.UNKNOWN.value: Message("we look when you drop off"),
}


@dataclass(frozen=True, slots=True)
class SizeReading:
    """What a size was understood as, what was assumed or is unsure, or what is wrong with it."""

    understood: tuple[Message, ...] = ()
    assumed: tuple[Message, ...] = ()
    wrong: tuple[Any, ...] = ()
    unsure: tuple[Message, ...] = ()


def parts(token: str) -> ResponseReturnValue:
    """Show the sets, or the first form."""
    view = load_step(token, STEP)
    if not view.sets:
        return _ask(view, "new")
    form = FormGroup(StepForm())
    if form.sent and form.validate():
        return next_step(view, STEP)
    return render_step("intake/parts.html", view, STEP, form, stock=shop().stock)


def one_set(token: str, key: str) -> ResponseReturnValue:
    """Ask for one set: a new one or an existing one."""
    return _ask(load_step(token, STEP), key)


def _ask(view: DraftView, key: str) -> ResponseReturnValue:
    before = view.answers.set_of(key)
    if key != "new" and before is None:
        return redirect(page_url(view.token, STEP), 303)
    form = make_form(view, before)
    bundle = FormGroup(form)
    place = f"set:{form.key.data}"
    if pressed("unwanted"):
        drafts.remove_photo(unit(), view.token, pressed("unwanted"))
        view = load_step(view.token, STEP)
    elif form.is_submitted():
        good = bundle.validate()
        # a photo is kept even when something else is wrong, or it would have to be chosen again
        all_kept = take_photos(view, form)
        if pressed("then") == "photos" and all_kept and not bundle.stale:
            return _with_photos(view, place, key)
        good = good and all_kept
        view = load_step(view.token, STEP)
        if good:
            another = url_for("intake.one_set", token=view.token, key="new")
            stay = another if pressed("then") == "another" else ""
            gone_on = save(view, place, bundle, change_of(form), step=STEP, stay=stay)
            if gone_on:
                return gone_on
    # a set without its size has no price
    change = change_of(form) if form.is_submitted() and form.can_be_priced else None
    return render_step(
        "intake/one_set.html",
        view,
        STEP,
        bundle,
        change=change,
        before=before,
        **context(view, form),
    )


def _with_photos(view: DraftView, place: str, key: str) -> ResponseReturnValue:
    """Show the page again as it stood, with the photos that were just sent."""
    drafts.keep_unsent(unit(), view.token, place, view.version, standing())
    here = url_for("intake.one_set", token=view.token, key=key, _anchor="photos-kept")
    return redirect(here, 303)


def context(view: DraftView, form: SetForm) -> dict[str, Any]:
    return {
        "kind_art": {k.value: art.image("kinds", k.value, 56) for k in PartKind},
        "face_art": {f.value: art.image("faces", f.value, 48) for f in FaceStyle},
        "build_says": {**BUILD_SAYS, WheelBuild.CHROME_PLATED.value: _chrome_says()},
        "metal_says": METAL_SAYS,
        "closed_says": CLOSED_SAYS,
        "reads": readings(form),
        "counts": _counts(view, form),
        **drawing(form),
    }


def drawing(form: SetForm) -> dict[str, Any]:
    """Return the data of the picture beside the questions."""
    drawn = form.part_set(None) if form.told_kind else PartSet("A", PartKind.WHEEL, 1)
    return {"drawn": drawn, "stock": shop().stock}


def _chrome_says() -> Message:
    days = route(PartSet("A", PartKind.WHEEL, 1, build=WheelBuild.CHROME_PLATED)).outside_days
    tariff = shop().tariff
    extra = Money(tariff.strip.routes[RouteKind.DEPLATE].per_wheel, tariff.currency)
    return Message("like a mirror: {days} days longer, {price} more each", days=days, price=extra)


def _counts(view: DraftView, form: SetForm) -> tuple[str, str]:
    """Return the fields' values for how many wheels and how many other parts.

    Only the first set starts with a number, and only for wheels: cars have four.
    """
    typed = form.count
    first = str(FOUR) if not view.sets else ""
    if typed.raw_data:
        return (typed.wheel, typed.other)
    count = str(typed.data or "")
    return (count or first, "") if form.is_wheel else (first, count)


def readings(form: SetForm) -> dict[str, SizeReading]:
    """Return how the sizes in the form were understood, by field."""
    found = {}
    if form.is_wheel and form.read:
        reads = [one for one in (form.read.rim, form.read.tyre) if one]
        found["size"] = SizeReading(
            tuple(said for one in reads for said in one.understood),
            tuple(said for one in reads for said in one.assumed),
            form.read.wrong,
            form.read.unsure,
        )
    kind = form.told_kind
    if kind is None or form.is_wheel or (form.sides and not form.sides.size):
        return found
    if form.sides or (usual_size(kind) and not form.sides_open.data):
        declared = form.part_set(None)
        says = area_says(declared)
        found["sides"] = SizeReading(says) if declared.size_mm else SizeReading(assumed=says)
    return found


def make_form(view: DraftView, before: PartSet | None) -> SetForm:
    """Return the form of one set, filled from the draft on a first visit."""
    key = before.key if before else next_key(view.answers)
    form = SetForm.of(view, f"set:{key}", filled(before) if before else None)
    form.kind.choices = kinds_offered()
    if before:
        form.key.data = before.key
    elif not (form.key.data and form.key.data.isalnum() and len(form.key.data) == 1):
        form.key.data = next_key(view.answers)
    return form


def kinds_offered() -> list[tuple[str, Any]]:
    """Return the kinds of parts that have a price."""
    offered = shop().tariff.parts
    return [(k.value, _l(k.title)) for k in PartKind if k not in SINCE_LATER or k in offered]


def filled(part_set: PartSet) -> dict[str, Any]:
    """Return a set as form values."""
    sides = [length_text(side) for side in part_set.size_mm or ()] or ["", "", ""]
    texts = [text for text in (part_set.rim_text, part_set.tyre_text) if text]
    if part_set.rim and not texts:
        texts = [f"{part_set.rim.diameter_code:g}"]
    wheels = part_set.kind is PartKind.WHEEL
    return {
        "key": part_set.key,
        "kind": part_set.kind.value,
        "count": part_set.count,
        "size": ", ".join(texts),
        "size_open": wheels and not (part_set.rim or part_set.tyre),
        "build": part_set.build.value if part_set.build else None,
        "face": part_set.face.value if part_set.face else None,
        "what": part_set.what,
        "made": part_set.made.value,
        "metal": part_set.metal.value,
        "length": sides[0],
        "width": sides[1],
        "height": sides[2],
        "sides_open": not wheels and not part_set.size_mm and not usual_size(part_set.kind),
        "closed": [one.value for one in part_set.closed],
    }


def next_key(answers: Answers) -> str:
    """Return the first unused letter."""
    used = {s.key for s in answers.declared.sets}
    return next(c for c in "ABCDEFGHIJKLMNOPQRSTUVWXYZ" if c not in used)


def change_of(form: SetForm) -> drafts.Change:
    """Return the change to the answers."""

    def change(answers: Answers) -> Answers:
        before = answers.set_of(str(form.key.data))
        declared = form.part_set(before)
        if before is None:
            return like_an_earlier(declared, answers)
        sets = [declared if s.key == declared.key else s for s in answers.declared.sets]
        saved = dict(answers.saved)
        if before.kind is not declared.kind:
            saved.pop(f"fitted:{declared.key}", None)
        return replace(answers, declared=replace(answers.declared, sets=tuple(sets)), saved=saved)

    return change


def remove_set(token: str, key: str) -> ResponseReturnValue:
    form = StepForm()
    view = load_step(token, STEP)
    if form.validate_on_submit():
        drafts.remove_set(unit(), view.token, key)
    return redirect(page_url(view.token, STEP), 303)
