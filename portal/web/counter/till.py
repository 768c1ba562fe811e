"""The till: what came in since it was last closed, counted and closed by a person."""

from decimal import Decimal

from flask import flash, request
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from werkzeug.wrappers import Response
from wtforms import HiddenField

from portal.orders.kernel.errors import Refusal
from portal.orders.office import takings
from portal.shop.roles import Role
from portal.web.counter.desk import WRONG, add_error, me, page, to
from portal.web.kit.forms import OnceForm, Required, TextField
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role
from portal.web.kit.request_context import number_of, unit
from portal.web.kit.sum_fields import SumField

MOST = Decimal(10_000_000)


class TillForm(OnceForm):
    """What was counted, what is taken out, and why it differs."""

    opening = SumField(_l("Cash in the till at the start"), high=MOST)
    counted = SumField(
        _l("Cash counted now"), [Required(_l("Count the cash and enter the sum."))], high=MOST
    )
    banked = SumField(_l("Of this you take out now, for the bank or the safe"), high=MOST)
    reason = TextField(_l("If the sum differs: why"), longest=takings.LONGEST_REASON)
    expected_taken = HiddenField()


@require_role(Role.COUNTER)
@checks_its_form
def till() -> Response:
    """Show the takings since the last closing, and close the till."""
    view = takings.till(unit())
    form = TillForm()
    for field in (form.opening, form.counted, form.banked):
        field.currency = view.currency
    if not form.is_submitted():
        form.expected_taken.data = str(view.taken)
    elif form.validate() and (number := _close(form)) is not None:
        return to("closing", number=number)
    return page("till", WRONG if form.errors else 200, view=view, form=form)


@require_role(Role.COUNTER)
def closing(number: int) -> Response:
    """Show one closing with its payments."""
    return page("closing", view=takings.closing(unit(), number))


def _close(form: TillForm) -> int | None:
    given = takings.CountedTill(
        opening=form.opening.money.minor,
        counted=form.counted.money.minor,
        banked=form.banked.money.minor,
        reason=str(form.reason.data or ""),
    )
    try:
        number = takings.close_till(
            unit(),
            given,
            expected_taken=_signed(request.form.get("expected_taken", "")),
            once_token=str(form.once.data or ""),
            who=me(),
        )
    except Refusal as refusal:
        add_error(form, refusal)
        form.expected_taken.raw_data = None
        form.expected_taken.data = str(takings.till(unit()).taken)
        return None
    flash(_("The till is closed: number %(number)s.", number=number), "go")
    return number


def _signed(text: str) -> int:
    sign = -1 if text.startswith("-") else 1
    return sign * number_of(text.removeprefix("-"))
