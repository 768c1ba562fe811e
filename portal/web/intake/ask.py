"""Ask us: a question before booking, sent together with the draft as it stands on the page."""

from collections.abc import Iterator
from typing import Any

from flask import flash, g, redirect, request, url_for
from flask.typing import ResponseReturnValue
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from wtforms import FileField, HiddenField, MultipleFileField

from portal.craft.messages import CraftError
from portal.orders.intake import drafts, questions
from portal.orders.intake.draft_answers import Step
from portal.orders.intake.draft_view import DraftView, Times, look
from portal.orders.intake.drafts import Change
from portal.orders.kernel.errors import RateLimited, Refused
from portal.web.intake.contact_fields import contact_email, contact_name
from portal.web.intake.live import PAGES
from portal.web.intake.page import (
    FormGroup,
    RedirectTo,
    StepForm,
    page_url,
    pressed,
    render_step,
    standing,
)
from portal.web.intake.photos import take_photos
from portal.web.intake.set_form import SetForm
from portal.web.kit.forms import (
    AreaField,
    OnceField,
    PhotoField,
    Required,
    TelField,
)
from portal.web.kit.i18n.languages import language, render
from portal.web.kit.request_context import settings, shop, unit
from portal.web.kit.typed_text import (
    Reads,
    mail_address,
    person_name,
    plain,
    shop_telephone,
    telephone,
    telephone_text,
)

NOT_TYPED = (HiddenField, FileField, MultipleFileField)


class AskForm(StepForm):
    """The question, a photo, and the sender's contact details."""

    once = OnceField()
    question = AreaField(
        _l("Your question"),
        [Required(_l("Enter your question."))],
        longest=questions.LONGEST_QUESTION,
        filters=[plain],
    )
    photo = PhotoField(_l("Photo"))
    name = contact_name()
    email = contact_email()
    phone = TelField(_l("Phone"), [Reads(shop_telephone)])


def from_page(token: str) -> ResponseReturnValue:
    """Save what stands in a page, finished or not, and redirect to the question."""
    page = request.args.get("page", "")
    view = look(unit(), token, times=Times.ALL if page == Step.DAY.value else Times.NONE)
    _must_not_be_booked(view)
    # the list of the sets holds no answers, only one of them does
    listed = page == Step.PARTS.value and not request.args.get("key")
    build = None if listed else PAGES.get(page)
    place, form, change, _more = (
        build(view) if build else ("", FormGroup(StepForm()), lambda answers: answers, {})
    )
    good = form.validate()
    if form.stale:
        # the page itself says so, and shows again what was typed
        return redirect(_back(view), 307)
    if place:
        drafts.keep_unsent(unit(), view.token, place, view.version, standing())
    questions.prepare(unit(), view.token, _as_it_stands(view, form, change, good=good))
    _keep_photos(view, form)
    return redirect(_at("intake.ask", view), 303)


def ask(token: str) -> ResponseReturnValue:
    view = look(unit(), token, times=Times.NONE)
    _must_not_be_booked(view)
    form = FormGroup(AskForm(data=_known(view)))
    if pressed("unwanted"):
        questions.remove_photo(unit(), view.token)
    elif form.sent:
        good = form.validate()
        # a photo is kept even when something else is wrong, or it would have to be chosen again
        good = (form.stale or _take_photo(view, form.page)) and good
        if good and _send(view, form.page):
            flash(_("We've sent a confirmation to %(email)s.", email=form.page["email"].data))
            return redirect(_at("intake.asked", view), 303)
    page = render_step(
        "intake/ask.html",
        view,
        _step(view),
        form,
        back=_back(view),
        here=_at("intake.ask", view),
        saved_photo=questions.unsent_photo(unit(), view.token),
    )
    # here stands a name sooner or later
    g.names_nobody = False
    return page


def asked(token: str) -> ResponseReturnValue:
    view = look(unit(), token, times=Times.NONE)
    _must_not_be_booked(view)
    if not view.questions:
        return redirect(url_for("intake.ask", token=view.token), 303)
    form = FormGroup(StepForm())
    return render_step("intake/asked.html", view, _step(view), form, back=_back(view))


def _must_not_be_booked(view: DraftView) -> None:
    if view.job_token:
        raise RedirectTo(f"/J/{view.job_token}")


def _step(view: DraftView) -> Step:
    """Return the page from which somebody asks, if it may be entered."""
    page = request.args.get("page", "")
    step = Step(page) if page in set(Step) else view.reached
    return min(step, view.reached, key=lambda one: one.number)


def _at(endpoint: str, view: DraftView) -> str:
    """Return the address of a page here that remembers from which page somebody asks."""
    page, key = (request.args.get(name) or None for name in ("page", "key"))
    return url_for(endpoint, token=view.token, page=page, key=key)


def _back(view: DraftView) -> str:
    step, key = _step(view), request.args.get("key", "")
    if step is Step.PARTS and key and view.sets:
        known = view.answers.set_of(key) is not None
        return url_for("intake.one_set", token=view.token, key=key if known else "new")
    return page_url(view.token, step)


def _known(view: DraftView) -> dict[str, str]:
    """Return contact details from the draft, else from its page as left unsent."""
    contact = view.answers.contact
    if contact:
        known = {"name": contact.name, "email": contact.email, "phone": contact.phone}
    else:
        unsent = view.answers.unsent.get(Step.YOU.value, {})
        known = {name: unsent[name][0] for name in ("name", "email", "phone") if unsent.get(name)}
    if known.get("phone"):
        known["phone"] = telephone_text(known["phone"], shop().country)
    return known


def _as_it_stands(
    view: DraftView, form: FormGroup, change: Change, *, good: bool
) -> dict[str, Any]:
    """Return the draft with the page's answers, or with the raw input where they are invalid."""
    if good:
        try:
            answers = look(unit(), view.token, change, times=Times.NONE).answers
            return questions.as_it_stands(answers, _step(view))
        except (CraftError, ValueError):
            pass
    return questions.as_it_stands(view.answers, _step(view), _typed(form))


def _typed(form: FormGroup) -> Iterator[tuple[str, str]]:
    """Yield label and value of each filled field, as a person reads them."""
    hidden = form.page.not_asked if isinstance(form.page, SetForm) else frozenset()
    for field in form:
        if isinstance(field, NOT_TYPED) or field.short_name in hidden:
            continue
        text = _words(field)
        if text:
            yield str(field.label.text), text


def _words(field: Any) -> str:
    if hasattr(field, "iter_choices"):
        chosen = field.data if isinstance(field.data, list) else [field.data]
        values = {str(one) for one in chosen}
        return ", ".join(str(c.label) for c in field.iter_choices() if str(c.value) in values)
    raw = field.raw_data or ()
    return " ".join(str(one) for one in raw if isinstance(one, str)).strip()


def _keep_photos(view: DraftView, form: FormGroup) -> None:
    """Save the photos that were chosen on the Parts page."""
    if "photos" in form.page and not take_photos(view, form.page):
        for error in form.page["photos"].errors:
            flash(render(error), "caution")


def _take_photo(view: DraftView, form: StepForm) -> bool:
    sent = form["photo"].data
    if not getattr(sent, "filename", ""):
        return True
    try:
        questions.keep_photo(unit(), view.token, sent.stream, limit_mb=settings().photo_limit_mb)
    except Refused as refused:
        return form.add_error("photo", refused.sentence)
    return True


def _send(view: DraftView, form: StepForm) -> bool:
    phone = str(form["phone"].data or "")
    said = questions.Asking(
        text=str(form["question"].data),
        name=person_name(str(form["name"].data)),
        email=mail_address(str(form["email"].data)),
        phone=telephone(phone, shop().country) if phone else "",
    )
    try:
        questions.ask(
            unit(),
            view.token,
            said,
            once_token=str(form["once"].data),
            address=request.remote_addr or "",
            locale=language(),
        )
    except (Refused, RateLimited) as refused:
        return form.add_error(refused.key or "question", refused.sentence)
    return True
