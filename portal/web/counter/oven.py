"""The oven: running loads, proposals for the next ones, and the heat of one part."""

from typing import Any

from flask import flash, request
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from werkzeug.wrappers import Response

from portal.orders.kernel.checks import CheckOpen
from portal.orders.kernel.errors import Refusal
from portal.orders.office.heat_leaves import LONGEST, MOST_MIN, record_leave
from portal.orders.production import oven as verbs
from portal.orders.production.oven_rules import NeedsYes, Remark
from portal.orders.production.oven_view import heat_page, oven
from portal.shop.roles import Role
from portal.web.counter.desk import (
    WRONG,
    add_error,
    attempt,
    counted_parts,
    me,
    page,
    tell_refusal,
    to,
    to_check,
)
from portal.web.kit.forms import CountField, OnceForm, Required, TextField
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role, the_person
from portal.web.kit.i18n.languages import render
from portal.web.kit.request_context import unit


@require_role(Role.FLOOR)
def show() -> Response:
    return page("oven", oven=oven(unit()), typed={})


@require_role(Role.FLOOR)
def start() -> Response:
    """Start a load; the input stays when it is refused."""
    parts, said_yes = _ids("part"), _ids("yes")
    heat, minutes = _number("set_point_c"), _number("minutes")
    remarks: dict[str, list[Remark]] = {}
    try:
        load = verbs.start_load(
            unit(),
            parts,
            set_point_c=heat,
            minutes=minutes,
            said_yes=said_yes,
            batches=_batches(),
            once_token=request.form.get("once", ""),
            who=me(),
        )
    except CheckOpen as refusal:
        return to_check(refusal, "oven")
    except Refusal as refusal:
        if isinstance(refusal, NeedsYes):
            for one in refusal.remarks:
                remarks.setdefault(render(one.says), []).append(one)
        shown = oven(unit())
        # others may have started these parts meanwhile: then there is no field to stand beside
        overtaken = refusal.key == "parts" or _number("proposal") > len(shown.proposals)
        if overtaken:
            tell_refusal(refusal)
        typed = {
            "proposal": request.form.get("proposal", ""),
            "parts": parts,
            "set_point_c": request.form.get("set_point_c", ""),
            "minutes": request.form.get("minutes", ""),
            "key": refusal.key,
            "says": None if overtaken else refusal.sentence,
            "remarks": remarks,
            "yes": said_yes,
            "batches": _batches(),
        }
        return page("oven", WRONG, oven=shown, typed=typed)
    return attempt(lambda: _("Load %(load)s started.", load=load), to("oven"))


@require_role(Role.FLOOR)
def close(load_id: int) -> Response:
    """Close a load; its parts move on, but after a pre-bake."""
    reason = request.form.get("early_because", "")
    stated = request.form.get("baked_min", "").strip()
    try:
        closed = verbs.close_load(
            unit(),
            load_id,
            early_because=reason,
            baked_min=_number("baked_min") if stated else None,
            who=me(),
        )
    except Refusal as refusal:
        if not refusal.key:
            tell_refusal(refusal)
            return to("oven")
        typed = {
            "closing": load_id,
            "key": refusal.key,
            "says": refusal.sentence,
            "early_because": reason,
            "baked_min": stated,
        }
        return page("oven", WRONG, oven=oven(unit()), typed=typed)
    if closed.remarks:
        listed = ", ".join(render(one) for one in closed.remarks)
        flash(_("Not baked as planned, check at inspection: %(parts)s", parts=listed), "stop")
    return attempt(lambda: _closed(load_id, closed), to("oven"))


def _closed(load_id: int, closed: verbs.ClosedLoad) -> Any:
    parts = counted_parts(closed.count)
    if not closed.moved:
        return _("Load %(load)s closed. Pre-baked: %(parts)s.", load=load_id, parts=parts)
    return _("Load %(load)s closed. Moved on: %(parts)s.", load=load_id, parts=parts)


class LeaveForm(OnceForm):
    """What the maker of a part allowed."""

    up_to = CountField(
        _l("Highest heat the maker allows, in minutes at 200 °C"), low=0, high=MOST_MIN
    )
    maker = TextField(
        _l("Who at the maker allowed it, and when"),
        [Required(_l("Enter who at the maker allowed it, and when."))],
        longest=LONGEST,
    )
    why = TextField(
        _l("Why it needs more heat"),
        [Required(_l("Enter why it needs more heat."))],
        longest=LONGEST,
    )


@require_role(Role.FLOOR)
def heat(part_id: int) -> Response:
    """Show every bake of a part, and what is left."""
    return _heat(part_id, LeaveForm())


@require_role(Role.OFFICE)
@checks_its_form
def leave(part_id: int) -> Response:
    """Record the maker's permission for one part."""
    form = LeaveForm()
    if form.validate_on_submit():
        try:
            record_leave(
                unit(),
                part_id,
                up_to=form.up_to.data or 0,
                maker=form.maker.data or "",
                why=form.why.data or "",
                once_token=form.once.data or "",
                who=me(),
            )
        except Refusal as refusal:
            add_error(form, refusal)
        else:
            return attempt(
                lambda: _("The maker's permission is recorded."), to("heat", part_id=part_id)
            )
    return _heat(part_id, form)


def _heat(part_id: int, form: LeaveForm) -> Response:
    office = the_person().may(Role.OFFICE)
    shown = heat_page(unit(), part_id)
    return page("heat", WRONG if form.errors else 200, part=shown, form=form, office=office)


def _ids(name: str) -> list[int]:
    return [int(one) for one in request.form.getlist(name)[:200] if one.isdecimal()]


def _batches() -> dict[str, str]:
    return {
        name.removeprefix("batch-"): value[:200]
        for name, value in list(request.form.items())[:400]
        if name.startswith("batch-")
    }


def _number(name: str) -> int:
    text = request.form.get(name, "").strip()
    return int(text) if text.isdecimal() and len(text) < 6 else 0
