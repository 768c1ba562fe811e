"""Finish: coat system, gloss and colour of every set, drawn as ordered."""

from dataclasses import replace

from flask import request
from flask.typing import ResponseReturnValue

from portal.craft.finishes import systems_for
from portal.craft.messages import Message
from portal.orders.intake.draft_answers import Answers, Step
from portal.orders.intake.draft_view import DraftView, Times, look
from portal.orders.intake.drafts import Change
from portal.orders.kernel.photos import colour_at
from portal.web.intake import finish_form
from portal.web.intake.finish_context import PHOTO_WIDTH, context
from portal.web.intake.finish_form import FinishForm, finishes, usage_of
from portal.web.intake.page import FormGroup, load_step, pressed, render_step, save
from portal.web.kit.request_context import shop, unit

STEP = Step.FINISH


def finish(token: str) -> ResponseReturnValue:
    view = load_step(token, STEP)
    form = make_form(view)
    if form.sent and not _only_looks(view, form) and _whole(view, form):
        gone_on = save(view, STEP.value, form, change_of(view, form), step=STEP)
        if gone_on:
            return gone_on
    if form.sent:
        # price and date of what stands in the page
        ahead = look(unit(), token, change_of(view, form), times=Times.ONE)
        view = replace(ahead, reached=view.reached, version=view.version)
    return render_step("intake/finish.html", view, STEP, form, **context(view, form))


def make_form(view: DraftView) -> FormGroup:
    return finish_form.make_form(view, shop().practice)


def _only_looks(view: DraftView, form: FormGroup) -> bool:
    """Return whether the press only changes the page: a search, a photo tap, a found colour.

    The Enter key searches while a search is unanswered.
    """
    subs = list(form.subs)
    moved = [_pick(sub) or _do(sub) for sub in subs]
    then = pressed("then")
    asks = [sub for sub in subs if sub.near.data and sub.near.data != sub.asked.data]
    if any(moved):
        # what was done to the fields changes what they offer
        form.subs = build_again(view, form).subs
        return True
    return then == "look" or (then == "enter" and bool(asks))


def build_again(view: DraftView, form: FormGroup) -> FormGroup:
    """Rebuild what the fields lead to, after a press has set one of them."""
    stock = shop().stock
    for one, sub in zip(view.sets, form.subs, strict=True):
        finish_form.offer(sub, one, stock)
    return form


def _do(sub: FinishForm) -> bool:
    """Apply a set's button: choose a colour that was found, or copy the first set."""
    prefix = sub.near.name.removesuffix("near")
    hit = request.form.get(f"{prefix}choose", "")
    if hit:
        system, gloss, colour = [*hit.split("."), "", ""][:3]
        sub.system.data, sub.gloss.data, sub.colour.data = system, gloss, colour
        sub.decide_from_sample.data = False
        return True
    like = request.form.get(f"{prefix}like", "")
    if like:
        sub.same.data = "1" if like == "first" else ""
        sub.same.raw_data = [sub.same.data]
    return bool(like)


def _pick(sub: FinishForm) -> bool:
    """Handle a tap on a photo, sent as `A-pick-TOKEN.x` and `.y` in its pixels.

    The colour found there is searched for as if it had been typed. Works without a script.
    """
    start = f"{sub.near.name.removesuffix('near')}pick-"
    names = [n for n in request.form if n.startswith(start) and n.endswith(".x")]
    for name in names:
        token = name.removeprefix(start).removesuffix(".x")
        across, down = (request.form.get(f"{start}{token}.{axis}", type=int) or 0 for axis in "xy")
        if not (across or down):  # pressed by keyboard: the middle is meant
            across = down = PHOTO_WIDTH // 2
        sub.near.data = colour_at(unit(), token, across / PHOTO_WIDTH, down / PHOTO_WIDTH)
        return True
    return False


def _whole(view: DraftView, form: FormGroup) -> bool:
    """Validate the page; a set that copies the first one must be able to have its finish."""
    good = form.validate()
    found = finishes(view, form)
    for one, sub in zip(view.sets, form.subs, strict=True):
        own = found[one.key]
        if sub.same.data and own and own.system not in systems_for(one):
            sub.same.data = ""
            finish_form.offer(sub, one, shop().stock)
            good = sub.add_error(
                "system", Message("This part can't have this finish. Choose another one.")
            )
    return good


def change_of(view: DraftView, form: FormGroup) -> Change:
    """Return the change to the answers."""
    found = finishes(view, form)
    usage = usage_of(form)

    def change(answers: Answers) -> Answers:
        declared = answers.declared
        sets = tuple(replace(s, finish=found.get(s.key) or s.finish) for s in declared.sets)
        return replace(answers, declared=replace(declared, sets=sets, usage=usage))

    return change
