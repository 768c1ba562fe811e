"""What people do besides going on: back and forth, two windows, a question, another day."""

import re
from typing import TYPE_CHECKING

import sqlalchemy as sa

from portal.store.tables import Letter
from tests.customers.forms import forms_of, main_form
from tests.customers.person import standing
from tests.customers.watch import must

if TYPE_CHECKING:
    from tests.customers.intake import Intake

STANDS = ("kind", "count", "build", "layers", "damage")
QUESTION = "A–B 7?"


def go_back(intake: "Intake") -> bool:
    """Go back to a page by its link; what was answered stands there."""
    person, plan = intake.person, intake.plan
    links = [a.get("href") or "" for n in person.page.all(class_="steps") for a in n.iter("a")]
    must(links, "no way back from the day")
    plan.note("habit", "back and forth")
    person.get(plan.rng.choice(links))
    step, form = person.step, main_form(person.page)
    for name, one in (form.fields if form else {}).items():
        was = intake.sent.get(step, {}).get(name)
        if one.short not in STANDS or was is None or step == "parts":
            continue
        if {"unknown", "bare"} & set(was):
            continue  # these take the page's own tick away
        now = one.checked if one.kind in ("radio", "checkbox") else one.value
        was = [was] if isinstance(was, str) and isinstance(now, list) else was
        must(sorted(now) == sorted(was), f"{step}: {name} was {was}, is {now} after going back")
    return True


def two_tabs(intake: "Intake") -> bool:
    """Answer a page in one window, and send the older one of another window after it."""
    person = intake.person
    intake.plan.note("habit", "two tabs")
    person.get(f"{intake.draft}/on-them")
    if person.step != "on-them" or person.page.all(id="refused"):
        return True
    older = main_form(person.page)
    must(older, "on-them: no form that goes on")
    person.send(older)
    person.send(older)
    must(person.at.status in (200, 422), "the older window is not answered")
    return True


def ask(intake: "Intake") -> bool:
    """Ask a question with what is filled in so far, and come back to the same page."""
    person, plan = intake.person, intake.plan
    form = main_form(person.page)
    pressed = next((b for b in form.buttons if "/ask" in (b.element.get("formaction") or "")), None)
    must(pressed, f"{person.step}: nobody can be asked")
    step = person.path
    person.post(pressed.element.get("formaction"), standing(form))
    must(person.step == "ask", f"“{pressed.label}” leads to {person.step}")
    asking = main_form(person.page)
    must(asking, "the question can't be sent")
    person.send(asking, {"question": QUESTION, "name": plan.name, "email": plan.email})
    must(QUESTION in person.page.text, "the question is not shown after it was sent")
    person.get(step)
    must(person.path == step, f"after the question {step} leads to {person.path}")
    plan.note("habit", "asks first")
    return True


def come_back_later(intake: "Intake") -> bool:
    """Have the link sent, and go on by it."""
    person, plan = intake.person, intake.plan
    person.get(f"{intake.draft}/later")
    form = next((f for f in forms_of(person.page) if f.action.endswith("/later")), None)
    must(form, "the link can't be asked for")
    person.send(form, {"email": plan.email})
    with intake.house.unit.read() as session:
        letters = list(session.scalars(sa.select(Letter.text).order_by(Letter.id.desc()).limit(1)))
    link = re.search(r"https?://[^/\s]+(/r/\w+)", letters[0] if letters else "")
    must(link, "no letter with the link came")
    person.get(link[1])
    plan.note("habit", "comes back later")
    return True
