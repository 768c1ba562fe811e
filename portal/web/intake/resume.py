"""Starting an order, and returning to it by a link."""

from flask import flash, redirect, request, url_for
from flask.typing import ResponseReturnValue
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l

from portal.orders.intake import drafts
from portal.orders.intake.draft_answers import Step
from portal.orders.intake.draft_view import Times, look
from portal.orders.kernel.errors import Refused
from portal.web.intake.page import FormGroup, StepForm, page_url, render_step
from portal.web.kit.forms import MailField, Required
from portal.web.kit.i18n.languages import language
from portal.web.kit.request_context import unit
from portal.web.kit.typed_text import Reads, mail_address


class ResumeForm(StepForm):
    """The address that gets the link."""

    email = MailField(
        _l("E-mail"), [Required(_l("Enter your e-mail address.")), Reads(mail_address)]
    )


def begin() -> ResponseReturnValue:
    """Create an empty draft."""
    token = drafts.begin(unit(), locale=language())
    if request.form.get("then") == "ask":
        return redirect(url_for("intake.ask", token=token), 303)
    return redirect(page_url(token, Step.PARTS), 303)


def resume(token: str) -> ResponseReturnValue:
    """Redirect to the furthest page of the draft."""
    view = look(unit(), token, times=Times.NONE)
    if view.job_token:
        return redirect(f"/J/{view.job_token}", 303)
    url = page_url(view.token, view.reached)
    # who comes from the letter with our answer reads it first
    answered = any(one.answer for one in view.questions)
    return redirect(f"{url}?asked=1" if answered else url, 303)


def later(token: str) -> ResponseReturnValue:
    """Mail the link that continues this order on another day or device."""
    view = look(unit(), token, times=Times.NONE)
    contact = view.answers.contact
    page = ResumeForm(data={"email": contact.email if contact else None})
    form = FormGroup(page)
    if form.sent and form.validate():
        try:
            to, address = mail_address(str(page.email.data)), request.remote_addr or ""
            drafts.send_resume_link(unit(), view.token, to, address=address)
        except Refused as refused:
            page.blame("email", refused.sentence)
        else:
            flash(_("We've sent a link to %(email)s.", email=page.email.data))
            return redirect(page_url(view.token, view.reached), 303)
    return render_step("intake/later.html", view, view.reached, form)
