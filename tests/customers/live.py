"""What the page's script does while one chooses: asks for the live regions, and swaps them in."""

from typing import Any

from tests.customers import watch
from tests.customers.forms import Form, main_form, told_of
from tests.customers.person import Person, standing
from tests.customers.watch import must
from tests.page import Page


def live(person: Person, form: Form, given: dict[str, Any]) -> Form | None:
    """Return the form as it stands after the live answer; None where the page has none."""
    bars = [e for e in person.page.one("main").iter() if e.get("data-live")]
    if not bars:
        return None
    sent = told_of(form, standing(form) | given)
    answer = person.client.post(bars[0].get("data-live"), data=sent)
    where = f"the live answer of {person.step}"
    must(answer.status_code == 200, f"{where}: {answer.status_code}")
    fragment = answer.get_data(as_text=True)
    page = Page(f"<!doctype html><html lang='{person.language}'><title>x</title><body>{fragment}")
    text = watch.all_words(page)
    watch.no_holes(text, where)
    watch.no_nothing(page, where)
    watch.own_words(text, person.language, person.allowed, where)
    for region in page.all():
        name = region.get("data-region")
        if not name:
            continue
        found = bars if name == "bar" else person.page.all(data_region=name)
        for here in found[:1]:
            here[:] = list(region)
            here.text = region.text
    return main_form(person.page)
