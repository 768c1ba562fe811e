"""The live price: the page as it stands, sent while the customer chooses.

The page is saved but not counted as answered, so that it is there again after a reload or on
another device.
"""

from collections.abc import Callable
from typing import Any

from flask import render_template, request
from flask.typing import ResponseReturnValue

from portal.craft.messages import CraftError
from portal.orders.intake import drafts
from portal.orders.intake.draft_answers import Step
from portal.orders.intake.draft_view import DraftView, Times, look
from portal.orders.intake.drafts import Change
from portal.web.intake import comes_off, day, finish, finish_context, on_them, parts, you
from portal.web.intake.page import FormGroup, page_url, standing
from portal.web.kit.request_context import unit

Built = tuple[str, FormGroup, Change, dict[str, Any]]


def price(token: str) -> ResponseReturnValue:
    """Return the regions that change with each choice: price, date, readings, pictures."""
    page = request.args.get("page", "")
    view = look(unit(), token, times=Times.ALL if page == Step.DAY.value else Times.NONE)
    more: dict[str, Any] = {}
    build = PAGES.get(page)
    change: Change | None = None
    if build is not None and not view.job_token:
        place, form, change, more = build(view)
        drafts.keep_unsent(unit(), token, place, form.page.drawn_with(), standing())
        # a set without its size has no price; other pages always have one, and nobody is told
        # what is still missing while they choose
        if page == Step.PARTS.value and not form.validate() and not form.page.can_be_priced:
            change = None
    return render_template(
        "intake/_live.html", view=_ahead(token, change), page=page, step_url=page_url, **more
    )


def _ahead(token: str, change: Change | None) -> DraftView:
    try:
        return look(unit(), token, change, times=Times.ONE)
    except (CraftError, ValueError):
        # half a form can't be priced; what was saved still stands
        return look(unit(), token, times=Times.ONE)


def _parts(view: DraftView) -> Built:
    before = view.answers.set_of(request.args.get("key", ""))
    form = parts.make_form(view, before)
    place = f"set:{form.key.data}"
    more = {"reads": parts.readings(form), **parts.drawing(form)}
    return place, FormGroup(form), parts.change_of(form), more


def _on_them(view: DraftView) -> Built:
    form = on_them.make_form(view)
    return Step.ON_THEM.value, form, on_them.change_of(view, form), on_them.asked(view, form)


def _comes_off(view: DraftView) -> Built:
    form = comes_off.make_form(view)
    more = {"form": form, **comes_off.context(view, form)}
    return Step.COMES_OFF.value, form, comes_off.change_of(view, form), more


def _finish(view: DraftView) -> Built:
    form = finish.make_form(view)
    more = {"form": form, **finish_context.context(view, form)}
    return Step.FINISH.value, form, finish.change_of(view, form), more


def _day(view: DraftView) -> Built:
    form = day.make_form(view)
    return Step.DAY.value, form, day.change_of(form), {}


def _you(view: DraftView) -> Built:
    form = you.make_form(view)
    return Step.YOU.value, form, you.change_of(form), {}


PAGES: dict[str, Callable[[DraftView], Built]] = {
    Step.PARTS.value: _parts,
    Step.ON_THEM.value: _on_them,
    Step.COMES_OFF.value: _comes_off,
    Step.FINISH.value: _finish,
    Step.DAY.value: _day,
    Step.YOU.value: _you,
}
