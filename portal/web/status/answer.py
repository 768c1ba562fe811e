"""The customer's yes or no to a finding."""

from flask_babel import lazy_gettext as _l
from wtforms import SubmitField

from portal.orders.customer.status_view import StatusPage
from portal.web.kit.forms import OnceForm, Required, TextField


class AnswerForm(OnceForm):
    """One finding's form: the confirmation, and two buttons."""

    digits = TextField(
        _l("Last four digits of your phone number"),
        [Required(_l("Enter the last four digits of your phone number."))],
        longest=12,
    )
    yes = SubmitField()
    no = SubmitField()


def forms_for(seen: StatusPage) -> dict[int, AnswerForm]:
    """Return one form for each open finding, each with field names of its own."""
    return {one.number: AnswerForm(prefix=f"f{one.number}-") for one in seen.open_findings}
