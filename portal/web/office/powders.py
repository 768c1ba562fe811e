"""Powders: the list with its stock, one powder with its movements, a new one."""

from datetime import date
from decimal import Decimal
from typing import Any

from flask import flash, make_response, redirect, render_template, request, url_for
from flask_babel import LazyString
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from wtforms import HiddenField

from portal.craft.schema import TableKey, entries
from portal.orders.kernel.errors import Overtaken, Refusal, Refused
from portal.orders.office import powder_orders
from portal.orders.office import powders as powder_records
from portal.shop.powder_list import PowderFigures
from portal.shop.roles import Role
from portal.web.kit.forms import (
    CheckboxField,
    CountField,
    MeasureField,
    PageForm,
    Required,
    SelectChoiceField,
    TextField,
)
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role, the_person
from portal.web.kit.i18n.languages import render
from portal.web.kit.request_context import now, number_of, shop, unit, zone
from portal.web.office.sheets import unit_of, words

NUMBER = _l("Enter a number.")
EMPTY = {
    "code": _l("Enter a code."),
    "name": _l("Enter a name."),
    "ral": "",
    "effect": _l("Choose one."),
}
LONGEST = {"code": 16, "name": 80, "ral": 8}


def _field(figure: TableKey) -> Any:
    """Return the field of a figure: its words and limits are those of the shape."""
    label = LazyString(words, figure)
    empty = EMPTY.get(figure.key, NUMBER)
    needed = [Required(empty)] if empty else []
    low, high = figure.span
    if figure.is_word:
        return SelectChoiceField(label, needed, choices=figure.kind)
    if figure.kind is int:
        return CountField(label, needed, low=low, high=high)
    if figure.kind is float:
        return MeasureField(label, needed, low=Decimal(str(low)), high=Decimal(str(high)))
    return TextField(label, needed, longest=LONGEST[figure.key])


FIGURES = {key: figure for key, figure in entries(PowderFigures).items() if key != "stock_kg"}


class OfferForm(PageForm):
    """What is asked of a powder besides its figures."""

    offered = CheckboxField(_l("Customers can choose it"), default=True)
    expected_version = HiddenField()


PowderForm: type[OfferForm] = type(
    "PowderForm", (OfferForm,), {key: _field(figure) for key, figure in FIGURES.items()}
)


class StockForm(PageForm):
    """A mass that was delivered or weighed."""

    kg = _field(entries(PowderFigures)["stock_kg"])


class OrderForm(PageForm):
    """Powder that was ordered."""

    ordered_kg = MeasureField(
        _l("Ordered"),
        [Required(_l("Enter a weight in kg, such as 12.5."))],
        low=Decimal("0.1"),
        high=Decimal(100_000),
    )
    due_on = TextField(
        _l("Comes on"),
        [Required(_l("Enter the day on which it comes."))],
        longest=10,
        render_kw={"type": "date", "autocomplete": "off"},
    )


@require_role(Role.OFFICE)
def powders() -> Any:
    return render_template(
        "office/powders.html",
        powders=powder_records.powders(unit()),
        buy=powder_orders.to_buy(unit()),
        today=now().astimezone(zone()).date(),
    )


@require_role(Role.OFFICE)
@checks_its_form
def new_powder() -> Any:
    form = PowderForm()
    if form.validate_on_submit():
        code = _save(form, expected_version=None)
        if code:
            return redirect(url_for("office.powder", code=code), code=303)
    page = render_template("office/new_powder.html", form=form, units=_units())
    return make_response(page, 422 if form.errors else 200)


@require_role(Role.OFFICE)
@checks_its_form
def powder(code: str) -> Any:
    """Show a powder; change it, record a delivery or a stocktake."""
    view = powder_records.powder(unit(), code)
    which = request.form.get("which", "")
    form = PowderForm(formdata=request.form if which == "powder" else None)
    stock = StockForm(formdata=request.form if which in {"delivery", "stocktake"} else None)
    if which != "powder":
        _fill(form, view)
    elif form.validate() and _save(
        form, expected_version=number_of(form.expected_version.data, -1), code=code
    ):
        return redirect(url_for("office.powder", code=code), code=303)
    if which in {"delivery", "stocktake"} and stock.validate() and _stock(which, code, stock):
        return redirect(url_for("office.powder", code=code), code=303)
    if which == "drop_order":
        return _drop(code)
    order = OrderForm(formdata=request.form if which == "order" else None)
    if which == "order" and order.validate() and _order(code, order):
        return redirect(url_for("office.powder", code=code), code=303)
    if which != "order":
        _fill_order(order, view)
    wrong = form.errors or stock.errors or order.errors
    page = render_template(
        "office/powder.html",
        view=view,
        form=form,
        stock=stock,
        order=order,
        which=which,
        units=_units(),
    )
    return make_response(page, 422 if wrong else 200)


def _fill_order(form: OrderForm, view: powder_records.PowderSheet) -> None:
    """Put in what is missing, in whole boxes, and when it would come."""
    powder = view.line.powder
    boxes = view.supply.boxes if view.supply else 0
    form.ordered_kg.data = Decimal(f"{max(1, boxes) * powder.box_kg:g}")
    today = now().astimezone(zone()).date()
    form.due_on.data = shop().week.working_days_after(today, powder.lead_days).isoformat()


def _order(code: str, form: OrderForm) -> bool:
    try:
        due_on = date.fromisoformat(form.due_on.data or "")
    except ValueError:
        return form.add_error("due_on", _("Enter the day on which it comes."))
    try:
        powder_orders.order_powder(
            unit(),
            code,
            int((form.ordered_kg.data or Decimal(0)) * 1000),
            due_on,
            who=the_person().person_id,
        )
    except Refused as refusal:
        return form.add_error(refusal.key, refusal.sentence)
    flash(_("The order is noted."))
    return True


def _drop(code: str) -> Any:
    try:
        number = number_of(request.form.get("order", ""), -1)
        powder_orders.drop_order(unit(), code, number, who=the_person().person_id)
    except Refusal as refusal:
        flash(render(refusal.sentence), "stop")
    else:
        flash(_("The order is removed."))
    return redirect(url_for("office.powder", code=code), code=303)


def _units() -> dict[str, str]:
    return {key: unit_of(figure) for key, figure in FIGURES.items()}


def _fill(form: OfferForm, view: powder_records.PowderSheet) -> None:
    for name, text in view.figures.items():
        field = form[name]
        if isinstance(field, MeasureField):
            field.data = Decimal(text)
        elif isinstance(field, CountField):
            field.data = int(text)
        else:
            field.data = text
    form.offered.data = view.line.offered
    form.expected_version.data = str(view.version)


def _save(form: OfferForm, *, expected_version: int | None, code: str = "") -> str:
    typed = {
        field.short_name: str("" if field.data is None else field.data)
        for field in form
        if field.short_name not in {"csrf_token", "offered", "expected_version"}
    }
    if code:
        # a powder keeps its code for life: old orders speak of it
        typed["code"] = code
    try:
        saved = powder_records.save_powder(
            unit(),
            typed,
            expected_version=expected_version,
            offered=bool(form.offered.data),
            who=the_person().person_id,
        )
    except (Refused, Overtaken) as refusal:
        if isinstance(refusal, Overtaken):
            form.expected_version.raw_data = None
            form.expected_version.data = str(powder_records.powder(unit(), code).version)
        form.add_error(refusal.key, refusal.sentence)
        return ""
    flash(_("Saved."))
    return saved


def _stock(which: str, code: str, form: StockForm) -> bool:
    grams = int((form.kg.data or Decimal(0)) * 1000)
    who = the_person().person_id
    try:
        if which == "delivery":
            powder_records.delivery(unit(), code, grams, who=who)
            flash(_("The delivery has been added to stock."))
        else:
            difference = powder_records.stocktake(unit(), code, grams, who=who)
            flash(
                _("Counted. Difference from the stock list: %(grams)s g.", grams=f"{difference:+d}")
            )
    except Refused as refusal:
        return form.add_error(refusal.key, refusal.sentence)
    return True
