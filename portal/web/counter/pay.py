"""A payment before the hand-back: a deposit, or a finding that is paid at once."""

from decimal import Decimal

from flask import flash
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from werkzeug.wrappers import Response

from portal.orders.counter import payments as verbs
from portal.orders.kernel.errors import Refusal
from portal.shop.money import round_half_up
from portal.shop.roles import Role
from portal.shop.states import PaymentMethod
from portal.web.counter.desk import WRONG, blame, job_of, me, page, to
from portal.web.kit.forms import MeasureField, OnceForm, RadioChoiceField, Required
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role
from portal.web.kit.request_context import unit


class SumField(MeasureField):
    """A sum of money in major units, always shown with its minor units."""

    def _value(self) -> str:
        if self.raw_data:
            return str(self.raw_data[0])
        return "" if self.data is None else f"{self.data:.2f}"


class PayForm(OnceForm):
    """The amount and the method."""

    amount = SumField(
        _l("Amount paid now"), [Required(_l("Enter the amount paid."))], high=Decimal(1_000_000)
    )
    how = RadioChoiceField(_l("Paid by"), choices=PaymentMethod, default=PaymentMethod.CARD.value)


@require_role(Role.COUNTER)
@checks_its_form
def pay(code: str) -> Response:
    job = job_of(code)
    form = PayForm()
    if form.validate_on_submit():
        try:
            verbs.take_payment(
                unit(),
                job.id,
                round_half_up((form.amount.data or Decimal(0)) * 100),
                PaymentMethod(form.how.data or PaymentMethod.CARD),
                once_token=str(form.once.data or ""),
                who=me(),
            )
        except Refusal as refusal:
            blame(form, refusal)
        else:
            flash(_("Payment recorded."), "go")
            return to("job", code=job.row.code)
    return page("pay", WRONG if form.errors else 200, job=job, form=form)
