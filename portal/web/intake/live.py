"""The live price: the page as it stands, sent while the customer chooses; nothing is saved."""

from collections.abc import Callable
from typing import Any

from flask import render_template, request
from flask.typing import ResponseReturnValue

from portal.craft.say import CraftError
from portal.orders.draft_answers import Step
from portal.orders.drafting import Change
from portal.orders.looking_draft import DraftSeen, look
from portal.web.intake import comes_off, day, finish, on_them, parts
from portal.web.intake.page import Bundle
from portal.web.kit.desk import unit

Built = tuple[Bundle, Change, dict[str, Any]]


def price(token: str) -> ResponseReturnValue:
    """Return what changes on the page with each choice: price, date, readings, pictures."""
    page = request.args.get("page", "")
    seen = look(unit(), token, with_times=page == Step.DAY.value)
    fresh = seen
    more: dict[str, Any] = {}
    build = PAGES.get(page)
    if build is not None and not seen.job_token:
        form, change, more = build(seen)
        good = form.validate()
        try:
            # a set without its size has no price; other pages always have one
            fresh = look(unit(), token, change if good or page != Step.PARTS.value else None)
        except (CraftError, ValueError):
            # half a form can't be priced; what was saved still stands
            fresh = look(unit(), token)
    return render_template("intake/_live.html", seen=fresh, page=page, **more)


def _parts(seen: DraftSeen) -> Built:
    before = seen.answers.set_of(request.args.get("key", ""))
    form = parts.build(seen, before)
    return Bundle(form), parts.change_of(form), {"reads": parts.readings(form)}


def _on_them(seen: DraftSeen) -> Built:
    form = on_them.build(seen)
    return form, on_them.change_of(seen, form), {}


def _comes_off(seen: DraftSeen) -> Built:
    form = comes_off.build(seen)
    return form, comes_off.change_of(seen, form), {"form": form, **comes_off.shown(seen, form)}


def _finish(seen: DraftSeen) -> Built:
    form = finish.build(seen)
    return form, finish.change_of(seen, form), {"form": form, **finish.shown(seen, form)}


def _day(seen: DraftSeen) -> Built:
    form = day.build(seen)
    return form, day.change_of(form), {}


PAGES: dict[str, Callable[[DraftSeen], Built]] = {
    Step.PARTS.value: _parts,
    Step.ON_THEM.value: _on_them,
    Step.COMES_OFF.value: _comes_off,
    Step.FINISH.value: _finish,
    Step.DAY.value: _day,
}
