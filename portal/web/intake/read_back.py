"""Check your order: everything on one page, the cautions to accept, and the booking button."""

from dataclasses import dataclass
from typing import Any

from flask import flash, redirect, url_for
from flask.typing import ResponseReturnValue
from flask_babel import lazy_gettext as _l
from wtforms import HiddenField

from portal.craft.answers import Coat, SetAppraisal
from portal.craft.hanging import hanging_mark, mark_seen
from portal.craft.messages import Message
from portal.craft.parts import Item, PartKind, PartSet, Remover
from portal.orders.intake import booking
from portal.orders.intake.draft_answers import Step
from portal.orders.intake.draft_view import DraftView, Times, look
from portal.orders.kernel.errors import Overtaken, Refused, Taken
from portal.shop.money import Money
from portal.web.intake.page import FormGroup, StepForm, load_step, page_url, render_step
from portal.web.kit.forms import CheckboxField, OnceField, Required
from portal.web.kit.i18n import measures
from portal.web.kit.i18n.languages import language, render
from portal.web.kit.request_context import shop, unit
from portal.web.kit.typed_text import telephone_text

STEP = Step.READ_BACK


class ReadBackForm(StepForm):
    """The last button: what was read, and a token that makes it count once."""

    once = OnceField()
    agreed = HiddenField()
    confirmed = CheckboxField(
        _l("I have read and accept these points"),
        [Required(_l("Tick the box to accept these points, or call us about them."))],
    )


@dataclass(frozen=True, slots=True)
class SetRows:
    """One set in the summary: its sum, and the rows that differ from `same_as`."""

    part_set: PartSet
    subtotal: Money
    rows: frozenset[str]
    same_as: PartSet | None
    taken_off: list[tuple[Remover, list[Item]]]
    coats: tuple[Coat, ...]
    mark: Message | None


def read_back(token: str) -> ResponseReturnValue:
    view = load_step(token, STEP)
    form = make_form(view)
    if form.sent and form.validate():
        gone_on = _book(view, form)
        if gone_on:
            return gone_on
    if form.sent:
        view = look(unit(), token, times=Times.ONE)
    form.page["agreed"].data = booking.agreement(view)
    return render_step("intake/read_back.html", view, STEP, form, **context(view))


def _book(view: DraftView, form: FormGroup) -> ResponseReturnValue | None:
    """Book and redirect to the status page; return None where the page must be read again."""
    try:
        job = booking.book(
            unit(),
            view.token,
            once_token=str(form.page["once"].data),
            agreed=str(form.page["agreed"].data),
            confirmed=[c.key for c in view.to_confirm],
            locale=language(),
            units=measures.chosen_units(),
        )
    except Taken as taken:
        flash(render(taken.sentence), "caution")
        return redirect(page_url(view.token, Step.DAY), 303)
    except (Overtaken, Refused) as refusal:
        flash(render(refusal.sentence), "caution")
        return None
    return redirect(f"/J/{job}", 303)


def context(view: DraftView) -> dict[str, Any]:
    contact = view.answers.contact
    return {
        "stock": shop().stock,
        "phone": telephone_text(contact.phone, shop().country) if contact else "",
        "sets": set_rows(view),
        "apart": [one for one in view.assessment.quote.lines if not one.set_key]
        if view.assessment
        else [],
        "urls": {step: page_url(view.token, step) for step in Step},
        "set_url": lambda key: url_for("intake.one_set", token=view.token, key=key),
    }


def set_rows(view: DraftView) -> list[SetRows]:
    """Return every set with its rows; a later one only has the rows that differ.

    It is compared with the first set of its kind, which has all rows. Damage is a row only where
    there is some.
    """
    if view.assessment is None:
        return []
    sums = {group.set_key: group.subtotal for group in view.assessment.quote.groups}
    nothing = Money(0, view.assessment.quote.total.currency)
    firsts: dict[PartKind, SetAppraisal] = {}
    found = []
    for answer in view.assessment.sets:
        one = answer.part_set
        first = firsts.setdefault(one.kind, answer)
        told_before = {} if first is answer else _rows_of(first)
        rows = {name for name, value in _rows_of(answer).items() if told_before.get(name) != value}
        if first is answer and not one.damage:
            rows.discard("damage")
        found.append(
            SetRows(
                part_set=one,
                subtotal=sums.get(one.key, nothing),
                rows=frozenset(rows),
                same_as=None
                if first is answer or len(rows) == len(_rows_of(answer))
                else first.part_set,
                taken_off=taken_off(answer),
                coats=answer.coats.coats if answer.coats else (),
                mark=hanging_mark(one.kind) if mark_seen(one.kind) else None,
            )
        )
    return found


def _rows_of(answer: SetAppraisal) -> dict[str, Any]:
    """Return the content of each row of a set, for comparing it with another set's."""
    one = answer.part_set
    return {
        "made": (one.build, one.face, one.metal, one.made, one.what, one.closed),
        "layers": (one.layers, one.note),
        "permission": (one.permission, one.permission_paper),
        "damage": (one.damage, dict(one.damaged), one.damaged_which),
        "off": taken_off(answer),
        "finish": one.finish,
    }


def taken_off(answer: SetAppraisal) -> list[tuple[Remover, list[Item]]]:
    """Return who removes what from one set, without those who remove nothing."""
    found: dict[Remover, list[Item]] = {}
    for removal in answer.removals:
        found.setdefault(removal.by(answer.part_set), []).append(removal.item)
    return list(found.items())


def make_form(view: DraftView) -> FormGroup:
    """Return the page's form; with nothing to accept it has no tick box."""
    page = ReadBackForm()
    if not view.to_confirm:
        del page.confirmed
    return FormGroup(page)
