"""Day: the free drop-off times, each with the promised date that it leads to."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from itertools import groupby
from typing import Any

from flask.typing import ResponseReturnValue
from flask_babel import lazy_gettext as _l
from wtforms.validators import StopValidation

from portal.orders.intake.draft_answers import Answers, Step
from portal.orders.intake.draft_view import DraftView, Offered, Times, look, other_turn
from portal.orders.intake.drafts import Change
from portal.shop.pricing.statements import DateStatement
from portal.web.intake.page import (
    FormGroup,
    StepForm,
    load_step,
    page_url,
    pressed,
    render_step,
    save,
)
from portal.web.kit.forms import RadioChoiceField, Required, offered_by
from portal.web.kit.request_context import shop, unit
from portal.web.kit.slots import name_of, start_of

STEP = Step.DAY
# three days fill a phone; later ones are opened on request
FIRST_DAYS = 3
# what the button says that changes the turn: before the others for more money, or as usual
FIRST, USUAL = "first", "usual"


class SlotField(RadioChoiceField):
    """One of the free times; others may book it meanwhile."""

    def pre_validate(self, form: Any) -> None:
        """Explain why a time is no longer offered."""
        if self.data and self.data not in offered_by(self):
            raise StopValidation(_l("This time is no longer free. Choose another one."))


class DayForm(StepForm):
    """One drop-off time, named by its start in UTC."""

    slot = SlotField(_l("When will you drop them off?"), [Required(_l("Choose a drop-off time."))])


@dataclass(frozen=True, slots=True)
class Choice:
    """A free time: its radio button and the promise."""

    option: Any
    offer: Offered


@dataclass(frozen=True, slots=True)
class Alike:
    """Free times of one day that have the same promise."""

    date: DateStatement
    choices: tuple[Choice, ...]


@dataclass(frozen=True, slots=True)
class DayShown:
    """One day with its free times, grouped by promise."""

    day: date
    alike: tuple[Alike, ...]


def day(token: str) -> ResponseReturnValue:
    view = load_step(token, STEP)
    form = make_form(view)
    if form.sent and _validated(view, form):
        turn = pressed("turn")
        stay = page_url(view.token, STEP, "turn") if turn else ""
        gone_on = save(view, STEP.value, form, change_of(form, turn), step=STEP, stay=stay)
        if gone_on:
            return gone_on
    if form.sent:
        view = look(unit(), token)
        form.page["slot"].choices = _choices(view.offers)
    return render_step("intake/day.html", view, STEP, form, **context(view, form))


def make_form(view: DraftView) -> FormGroup:
    """Return the form with the chosen time ticked, else the first free one."""
    free = {name_of(o.start) for o in view.offers}
    chosen_before = view.answers.slot and name_of(view.answers.slot)
    first = view.offers[0].start if view.offers else None
    usual = chosen_before if chosen_before in free else first and name_of(first)
    form = DayForm.of(view, STEP.value, {"slot": usual})
    form.slot.choices = _choices(view.offers)
    return FormGroup(form)


def _choices(offers: Iterable[Offered]) -> list[tuple[str, str]]:
    return [(name_of(one.start), "") for one in offers]


def _validated(view: DraftView, form: FormGroup) -> bool:
    """Validate the form against the one time that was chosen: the others don't matter."""
    start = start_of(str(form.page["slot"].data or ""))
    if start is not None:
        chosen = look(
            unit(), view.token, lambda answers: replace(answers, slot=start), times=Times.ONE
        )
        form.page["slot"].choices = _choices([chosen.promise] if chosen.promise else [])
    return form.validate()


def context(view: DraftView, form: FormGroup) -> dict[str, Any]:
    """Return the free times by day, the near ones apart from the later ones."""
    days = _by_day(view.offers, form.page["slot"])
    lost = view.answers.slot is not None and not any(
        o.start == view.answers.slot for o in view.offers
    )
    return {
        "near": days[:FIRST_DAYS],
        "later": days[FIRST_DAYS:],
        "lost": lost,
        "turn": other_turn(unit(), view),
    }


def _by_day(offers: Iterable[Offered], field: Any) -> list[DayShown]:
    week = shop().week
    options = {str(option.data): option for option in field}
    found: dict[date, list[Choice]] = {}
    for offer in offers:
        choice = Choice(options[name_of(offer.start)], offer)
        found.setdefault(week.local(offer.start).date(), []).append(choice)
    return [DayShown(on, _alike(choices)) for on, choices in found.items()]


def _alike(choices: list[Choice]) -> tuple[Alike, ...]:
    grouped = groupby(choices, key=lambda one: one.offer.date)
    return tuple(Alike(date, tuple(ones)) for date, ones in grouped)


def change_of(form: FormGroup, turn: str = "") -> Change:
    """Return the change to the answers; `turn` is what the page's button changes."""

    def change(answers: Answers) -> Answers:
        rush = turn == FIRST if turn in (FIRST, USUAL) else answers.declared.rush
        declared = replace(answers.declared, rush=rush)
        return replace(answers, declared=declared, slot=start_of(form.page["slot"].data))

    return change
