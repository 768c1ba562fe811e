"""Powders: the list with its stock, one powder with its movements, a new one."""

from decimal import Decimal
from typing import Any

from flask import flash, make_response, redirect, render_template, request, url_for
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from wtforms import HiddenField

from portal.craft.parts import Effect
from portal.orders.kernel.errors import Overtaken, Refused
from portal.orders.office import powders as books_powders
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
from portal.web.kit.request_context import number_of, unit

NUMBER = _l("Enter a number.")


def _measure(label: Any, low: str, high: str, hint: str = "") -> Any:
    return MeasureField(
        label,
        [Required(NUMBER)],
        low=Decimal(low),
        high=Decimal(high),
        description=hint,
    )


class PowderForm(PageForm):
    """The figures of a powder, as on its data sheet."""

    code = TextField(_l("Code"), [Required(_l("Enter a code."))], longest=16)
    name = TextField(_l("Name"), [Required(_l("Enter a name."))], longest=80)
    ral = TextField(_l("RAL number, if it has one"), longest=8)
    effect = SelectChoiceField(_l("Effect"), [Required(_l("Choose one."))], choices=Effect)
    gloss_gu = CountField(_l("Gloss at 60°"), [Required(NUMBER)], low=0, high=100)
    l = _measure(_l("Colour L*"), "0", "100")  # noqa: E741  # the column's own name
    a = _measure(_l("Colour a*"), "-130", "130")
    b = _measure(_l("Colour b*"), "-130", "130")
    density = _measure(_l("Density"), "0.8", "3")
    film_low_um = CountField(_l("Film thickness from"), [Required(NUMBER)], low=10, high=400)
    film_high_um = CountField(_l("Film thickness to"), [Required(NUMBER)], low=10, high=400)
    cure_c = CountField(_l("Bake: metal temperature"), [Required(NUMBER)], low=100, high=260)
    cure_min = CountField(_l("Bake: time at temperature"), [Required(NUMBER)], low=1, high=120)
    box_kg = _measure(_l("A box holds"), "0.1", "1000")
    lead_days = CountField(_l("Delivery time, working days"), [Required(NUMBER)], low=0, high=200)
    offered = CheckboxField(_l("Customers can choose it"), default=True)
    expected_version = HiddenField()


class StockForm(PageForm):
    """A mass that was delivered or weighed."""

    kg = MeasureField(_l("Weight"), [Required(NUMBER)], low=Decimal(0), high=Decimal(100_000))


@require_role(Role.OFFICE)
def powders() -> Any:
    return render_template("books/powders.html", powders=books_powders.powders(unit()))


@require_role(Role.OFFICE)
@checks_its_form
def new_powder() -> Any:
    form = PowderForm()
    if form.validate_on_submit():
        code = _save(form, expected_version=None)
        if code:
            return redirect(url_for("books.powder", code=code), code=303)
    page = render_template("books/new_powder.html", form=form)
    return make_response(page, 422 if form.errors else 200)


@require_role(Role.OFFICE)
@checks_its_form
def powder(code: str) -> Any:
    """Show a powder; change it, record a delivery or a stocktake."""
    seen = books_powders.powder(unit(), code)
    which = request.form.get("which", "")
    form = PowderForm(formdata=request.form if which == "powder" else None)
    stock = StockForm(formdata=request.form if which in {"delivery", "stocktake"} else None)
    if which != "powder":
        _fill(form, seen)
    elif form.validate() and _save(
        form, expected_version=number_of(form.expected_version.data, -1), code=code
    ):
        return redirect(url_for("books.powder", code=code), code=303)
    if which in {"delivery", "stocktake"} and stock.validate() and _stock(which, code, stock):
        return redirect(url_for("books.powder", code=code), code=303)
    wrong = form.errors or stock.errors
    page = render_template("books/powder.html", seen=seen, form=form, stock=stock, which=which)
    return make_response(page, 422 if wrong else 200)


def _fill(form: PowderForm, seen: books_powders.PowderSheet) -> None:
    for name, text in seen.figures.items():
        field = form[name]
        if isinstance(field, MeasureField):
            field.data = Decimal(text)
        elif isinstance(field, CountField):
            field.data = int(text)
        else:
            field.data = text
    form.offered.data = seen.line.offered
    form.expected_version.data = str(seen.version)


def _save(form: PowderForm, *, expected_version: int | None, code: str = "") -> str:
    typed = {
        field.short_name: str("" if field.data is None else field.data)
        for field in form
        if field.short_name not in {"csrf_token", "offered", "expected_version"}
    }
    if code:
        # a powder keeps its code for life: old orders speak of it
        typed["code"] = code
    try:
        saved = books_powders.save_powder(
            unit(),
            typed,
            expected_version=expected_version,
            offered=bool(form.offered.data),
            who=the_person().person_id,
        )
    except (Refused, Overtaken) as refusal:
        if isinstance(refusal, Overtaken):
            form.expected_version.raw_data = None
            form.expected_version.data = str(books_powders.powder(unit(), code).version)
        form.blame(refusal.key, refusal.sentence)
        return ""
    flash(_("Saved."))
    return saved


def _stock(which: str, code: str, form: StockForm) -> bool:
    grams = int((form.kg.data or Decimal(0)) * 1000)
    who = the_person().person_id
    try:
        if which == "delivery":
            books_powders.delivery(unit(), code, grams, who=who)
            flash(_("The delivery has been added to stock."))
        else:
            difference = books_powders.stocktake(unit(), code, grams, who=who)
            flash(
                _("Counted. Difference from the stock list: %(grams)s g.", grams=f"{difference:+d}")
            )
    except Refused as refusal:
        return form.blame(refusal.key, refusal.sentence)
    return True
