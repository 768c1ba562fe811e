"""The customer chooses another colour or finish by the link: price and date first, then the order.

Both buttons send the same form: one works out what the choice changes, one puts it into the order
at the price and the date that were read.
"""

from typing import Any

from flask import flash, make_response, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from flask_babel import ngettext
from wtforms import HiddenField

from portal.craft.finishes import gloss_band, has_clear
from portal.craft.parts import FinishChoice, Gloss, Powder, System
from portal.orders.counter import finish_by_link as verbs
from portal.orders.counter.finish_by_link import FinishChange, FinishImpact, OpenFinish
from portal.orders.customer.status_view import StatusPage
from portal.orders.kernel.errors import Already, Refusal
from portal.web.kit.forms import OnceForm, RadioChoiceField, Required
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.i18n.languages import colour_name, label
from portal.web.kit.request_context import number_of, unit
from portal.web.status.digits import digits_field
from portal.web.status.page import look

WRONG = 422


class NewFinishForm(OnceForm):
    """The coats, the gloss of a clear coat, and the colour; `read` is what the page told."""

    expected_event_id = HiddenField()
    read = HiddenField()
    set_key = HiddenField()
    system = RadioChoiceField(_l("Coats"), [Required(_l("Choose the coats."))])
    colour = RadioChoiceField(_l("Colour"), [Required(_l("Choose a colour."))])
    gloss = RadioChoiceField(_l("Gloss of the clear coat"), choices=Gloss)
    digits = digits_field()


@checks_its_form
def finish(token: str) -> ResponseReturnValue:
    """Show what can be chosen; price a choice; put it into the order."""
    page, change = _page_and_change(token)
    key = str(request.values.get("set_key", "") or request.args.get("set", ""))[:8]
    if not change.sets:
        return _shown(page, change, None, None)
    own = _set_of(change, key) or change.sets[0]
    form = _form(change, own)
    impact = None
    if form.is_submitted() and _validates(form):
        try:
            if request.form.get("do") == "take":
                return _take(page, own, form)
            impact = verbs.weigh_finish(unit(), page.token, own.own.key, _choice(form, own))
        except Already:
            return redirect(url_for("status.show", token=page.token), 303)
        except Refusal as refusal:
            form.add_error(refusal.key, refusal.sentence)
            return _as_it_is(token, own.own.key, form)
    return _shown(page, change, form, own, impact)


def _set_of(change: FinishChange, key: str) -> OpenFinish | None:
    return next((one for one in change.sets if one.own.key == key), None)


def _as_it_is(token: str, key: str, form: NewFinishForm) -> ResponseReturnValue:
    """Show the page as the job stands now, with what was chosen and why it was refused."""
    page, change = _page_and_change(token)
    own = _set_of(change, key)
    if own is None:
        return _shown(page, change, None, None)
    try:
        impact = verbs.weigh_finish(unit(), page.token, key, _choice(form, own))
    except Refusal:
        impact = None
    return _shown(page, change, form, own, impact)


def _take(page: StatusPage, own: OpenFinish, form: NewFinishForm) -> ResponseReturnValue:
    verbs.change_finish(
        unit(),
        page.token,
        own.own.key,
        _choice(form, own),
        read=str(form.read.data or ""),
        digits=str(form.digits.data or ""),
        expected_event_id=number_of(form.expected_event_id.data),
        once_token=str(form.once.data or ""),
    )
    flash(_("Your order is changed. The new price and date are on this page."), "go")
    return redirect(url_for("status.show", token=page.token), 303)


def _page_and_change(token: str) -> tuple[StatusPage, FinishChange]:
    page = look(token)
    return page, verbs.finish_change(unit(), page.token)


def _form(change: FinishChange, own: OpenFinish) -> NewFinishForm:
    finish = own.own.finish
    assert finish is not None  # a set that can be changed has one
    form = NewFinishForm(
        data={
            "system": finish.system.value,
            "colour": finish.colour,
            "gloss": finish.gloss.value,
            "set_key": own.own.key,
        }
    )
    form.system.choices = [(one.value, label(one)) for one in own.systems]
    form.colour.choices = [(one.code, _name(one)) for one in own.powders.values()]
    form.set_key.data = own.own.key
    if not any(has_clear(one) for one in own.systems):
        del form.gloss
    return form


def _name(powder: Powder) -> str:
    return f"{colour_name(powder.name)}, {label(gloss_band(powder.gloss_gu))}"


def _validates(form: NewFinishForm) -> bool:
    """Validate the choice; the digits are asked for where it is put into the order alone."""
    if request.form.get("do") != "take":
        form.digits.validators = []
        form.digits.data = ""
    return bool(form.validate())


def _choice(form: NewFinishForm, own: OpenFinish) -> FinishChoice:
    """Return what was chosen, in a gloss in which it can be made where that is the only one."""
    wanted = Gloss(form.gloss.data) if "gloss" in form and form.gloss.data else Gloss.GLOSS
    colour, system = str(form.colour.data), System(form.system.data)
    choices = [FinishChoice(system=system, colour=colour, gloss=one) for one in (wanted, *Gloss)]
    return next((one for one in choices if own.made(one) is not None), choices[0])


def _shown(
    page: StatusPage,
    change: FinishChange,
    form: NewFinishForm | None,
    own: OpenFinish | None,
    impact: FinishImpact | None = None,
) -> ResponseReturnValue:
    if form is not None:
        form.expected_event_id.data = str(change.last_event_id)
        form.read.data = impact.read if impact else ""
    body = render_template(
        "status/finish.html",
        job=page,
        change=change,
        form=form,
        own=own,
        impact=impact,
        says=_waits(own) if own else {},
    )
    wrong = form is not None and (form.errors or form.form_errors)
    return make_response(body, WRONG if wrong else 200)


def _waits(own: OpenFinish) -> dict[str, Any]:
    """Return what is to be said of powders that must be ordered first."""
    return {
        code: ngettext("order: %(num)s working day", "order: %(num)s working days", one.lead_days)
        for code, one in own.powders.items()
        if one.stock_kg <= 0
    }
