"""The form in which staff answer what a customer asked, before booking or by the link."""

from flask import flash, request
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l

from portal.orders.kernel.answers import LONGEST_ANSWER
from portal.web.kit.forms import AreaField, OnceForm
from portal.web.kit.typed_text import plain


class StaffAnswerForm(OnceForm):
    """The answer in words; the other button closes the matter without a letter."""

    answer = AreaField(
        _l("Your answer"), longest=LONGEST_ANSWER, render_kw={"rows": 6}, filters=[plain]
    )

    @property
    def words(self) -> str:
        return str(self.answer.data or "")

    @property
    def token(self) -> str:
        return str(self.once.data or "")


def closes() -> bool:
    """Return whether the button that closes without a letter was pressed."""
    return request.form.get("how") == "close"


def flash_settled(*, closed: bool) -> None:
    """Say on the next page what became of the matter."""
    flash(_("Closed without a letter.") if closed else _("The answer is on its way."), "go")
