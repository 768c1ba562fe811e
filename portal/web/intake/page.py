"""What the seven pages share: entering in order, one form a page, saving, and showing again."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any, Self

from flask import flash, g, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from flask_babel import gettext as _
from werkzeug.datastructures import MultiDict
from wtforms import Form, HiddenField

from portal.craft.messages import CraftError
from portal.orders.intake import drafts
from portal.orders.intake.draft_answers import Answers, Step
from portal.orders.intake.draft_view import DraftView, Times, look
from portal.orders.intake.drafts import Change
from portal.orders.kernel.errors import Overtaken
from portal.web.kit import forms
from portal.web.kit.i18n.languages import render
from portal.web.kit.request_context import unit


class StepForm(forms.PageForm):
    """A page's own form: the CSRF token, and the version that it was rendered with."""

    version = HiddenField()
    unsent: Mapping[str, list[str]] | None = None

    def drawn_with(self) -> int:
        """Return the version in the page; an invalid one counts as the oldest."""
        return _number(str(self.version.data or "").partition(".")[0])

    def prices_shown(self) -> int:
        """Return the edition of the price list that the page showed; 0 for none."""
        return _number(str(self.version.data or "").partition(".")[2])

    @classmethod
    def of(cls, view: DraftView, place: str, data: Mapping[str, Any] | None = None) -> Self:
        """Return the form as sent, else as left unsent, else filled with `data`."""
        unsent = view.answers.unsent.get(place)
        if request.method == "POST" or not unsent:
            form = cls(data=data)
        else:
            form = cls(formdata=MultiDict(unsent), data=data)
        form.unsent = None if request.method == "POST" else unsent
        return form

    def part_of(self, prefix: str) -> MultiDict[str, Any] | None:
        """Return what was sent, or left unsent, for the form of a set; None on a first visit."""
        if self.is_submitted():
            return request.form
        if self.unsent and any(name.startswith(prefix) for name in self.unsent):
            return MultiDict(self.unsent)
        return None


class SetFormPart(forms.Bounded, Form):
    """The part of a page that belongs to one set; the page's form carries the token for all."""

    def add_error(self, field_name: str, sentence: Any) -> bool:
        """Put a sentence beside a field."""
        field = self._fields[field_name]
        field.errors = [*field.errors, sentence]
        return False


class FormGroup:
    """A page's form together with the forms of its sets, validated and shown as one.

    Field macros take the fields; the list of errors takes the group.
    """

    def __init__(self, page: StepForm, subs: Iterable[Any] = ()) -> None:
        self.page = page
        self.subs: list[Any] = list(subs)

    def __iter__(self) -> Iterator[Any]:
        for form in (self.page, *self.subs):
            yield from form

    @property
    def errors(self) -> dict[str, Any]:
        """Messages by full field name, without those of the CSRF token."""
        return {f.name: f.errors for f in self if f.errors and f.short_name != "csrf_token"}

    @property
    def form_errors(self) -> list[Any]:
        """Messages that belong to no field."""
        return list(self.page.form_errors)

    @property
    def wrong(self) -> bool:
        """Whether anything on the page is wrong."""
        return bool(self.errors)

    @property
    def sent(self) -> bool:
        """Whether the page was submitted."""
        return bool(self.page.is_submitted())

    @property
    def stale(self) -> bool:
        """Whether the page's session had ended when it was submitted."""
        return self.sent and bool(self.page["csrf_token"].errors)

    def validate(self) -> bool:
        """Validate every form, so that all errors show at once."""
        found = [form.validate() for form in (self.page, *self.subs)]
        return all(found)


class RedirectTo(Exception):
    """The page to go to instead; the blueprint turns it into a redirect."""

    def __init__(self, url: str) -> None:
        super().__init__(url)
        self.url = url


def load_step(token: str, step: Step) -> DraftView:
    """Return the draft; raise `RedirectTo` where this page can't be entered yet, or any more."""
    # a page that is shown has its times; an answer is checked without the others
    shows = Times.ALL if step is Step.DAY else Times.ONE
    view = look(unit(), token, times=shows if request.method == "GET" else Times.NONE)
    if view.job_token:
        raise RedirectTo(f"/J/{view.job_token}")
    if step.number > view.reached.number:
        raise RedirectTo(page_url(view.token, view.reached))
    return view


def page_url(token: str, step: Step, anchor: str = "") -> str:
    name = step.value.replace("-", "_")
    return url_for(f"intake.{name}", token=token, _anchor=anchor or None)


def save(
    view: DraftView, place: str, form: FormGroup, change: Change, *, step: Step, stay: str = ""
) -> ResponseReturnValue | None:
    """Save and redirect; return None where the page was overtaken and must be shown again."""
    try:
        drafts.save(unit(), view.token, place, form.page.drawn_with(), _seen_prices(form, change))
    except Overtaken as overtaken:
        flash(render(overtaken.sentence), "caution")
        renew_version(form, look(unit(), view.token, times=Times.NONE))
        return None
    return redirect(stay, 303) if stay else next_step(view, step)


def next_step(view: DraftView, step: Step) -> ResponseReturnValue:
    """Redirect to the next page, or back to where something blocks the order or is missing."""
    fresh = look(unit(), view.token, times=Times.NONE)
    if fresh.refused:
        held = fresh.reached
        if step is Step.PARTS and held is Step.ON_THEM:
            held = Step.PARTS
        if held.number <= step.after.number:
            return redirect(page_url(view.token, held, "refused"), 303)
    nearest = min(step.after, fresh.reached, key=lambda one: one.number)
    return redirect(page_url(view.token, nearest), 303)


def _seen_prices(form: FormGroup, change: Change) -> Change:
    """Record that a submitted page showed its price list."""

    def changed(answers: Answers) -> Answers:
        shown = form.page.prices_shown()
        after = change(answers)
        return replace(after, prices=shown) if shown else after

    return changed


def renew_version(form: FormGroup, view: DraftView) -> None:
    """Give the page the present version and price list, so that it can be sent again."""
    drawn = f"{view.version}.{view.prices}"
    form.page.version.data = drawn
    form.page.version.raw_data = [drawn]


def _number(text: str) -> int:
    return int(text) if text.isdecimal() and len(text) < 9 else 0


def render_step(
    template: str,
    view: DraftView,
    step: Step,
    form: FormGroup,
    *,
    change: Change | None = None,
    **more: Any,
) -> ResponseReturnValue:
    """Render a page with its place in the order, its price and its promise.

    On a page that is shown again these are of what stands in it, as `change` would save it.
    """
    if not form.sent:
        renew_version(form, view)
    if view.times is Times.NONE:
        view = _as_it_stands(view, change if form.sent else None)
    if form.stale:
        flash(
            _(
                "This page was open for too long. Your answers are still here: press the button "
                "again."
            ),
            "caution",
        )
    # an order without a name in it is a page like any other; with one it is never listed
    g.names_nobody = view.answers.contact is None and not view.questions
    page = render_template(
        template,
        view=view,
        step=step,
        steps_all=list(Step),
        step_url=page_url,
        form=form,
        **more,
    )
    return (page, 422) if form.sent and (form.errors or form.stale) else page


def _as_it_stands(view: DraftView, change: Change | None) -> DraftView:
    """Return the draft with the price and the promise of a page; as saved for half a form."""
    saved = look(unit(), view.token, times=Times.ONE)
    if change is None:
        return saved
    try:
        ahead = look(unit(), view.token, change, times=Times.ONE)
    except (CraftError, ValueError):
        return saved
    return replace(saved, assessment=ahead.assessment, promise=ahead.promise)


# every page carries these of its own, and what a button says is no answer
OURS = frozenset({"csrf_token", "version", "once", "then", "unwanted", "leave"})


def standing() -> dict[str, list[str]]:
    """Return the fields of the submitted page by name."""
    most = forms.LONGEST_HIDDEN + forms.MOST_ECHOED
    return {
        name: [forms.cut(one, most) for one in sent]
        for name, sent in request.form.lists()
        if name not in OURS
    }


def pressed(name: str) -> str:
    """Return the value of the submit button, if it has this name."""
    return request.form.get(name, "") if request.method == "POST" else ""
