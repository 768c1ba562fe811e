"""From the landing page to the booked slip: page by page, by what each page asks."""

import io
import re
from functools import lru_cache
from typing import Any
from xml.etree.ElementTree import Element

from PIL import Image

from tests.customers import figures, habits
from tests.customers.answers import Answers, put_right
from tests.customers.figures import Told
from tests.customers.forms import Field, Form, blames, forms_of, main_form, refusals
from tests.customers.house import House
from tests.customers.person import Person
from tests.customers.plans import Plan, SetPlan
from tests.customers.watch import Fell, must
from tests.page import Page, words

MOST_PAGES = 80
MOST_TRIES = 6
MOST_VISITS = 12
HABITS = (
    ("ask", ("on-them", "comes-off", "finish"), habits.ask),
    ("later", ("finish", "you"), habits.come_back_later),
    ("back", ("day",), habits.go_back),
    ("tabs", ("finish", "day"), habits.two_tabs),
)


class Intake:
    """One customer on the way to the booked slip."""

    def __init__(self, house: House, person: Person, plan: Plan, told: Told) -> None:
        self.house = house
        self.person = person
        self.plan = plan
        self.told = told
        self.answers = Answers(plan)
        self.given: dict[str, Any] = {}
        self.counts: dict[str, int] = {}
        self.sent: dict[str, dict[str, Any]] = {}
        self.visits: dict[str, int] = {}
        self.sets_told = 0
        self.photo_of = ""
        self.amends = ["on-them", "parts/KEY", "instead"]
        self.habits = {
            "back": plan.goes_back, "tabs": plan.two_tabs, "rush": plan.rush,
            "ask": plan.asks, "later": plan.comes_later,
        }  # fmt: skip

    def walk(self) -> str:
        """Walk to the booked job; return its path."""
        self.person.get("/")
        begin = next((f for f in forms_of(self.person.page) if f.action == "/o"), None)
        must(begin, "the landing page has no way in")
        self.person.send(begin)
        for _ in range(MOST_PAGES):
            path = self.person.path
            if path.startswith("/J/"):
                return path
            step = self.person.step
            self.visits[step] = self.visits.get(step, 0) + 1
            must(
                self.visits[step] < MOST_VISITS * len(self.plan.sets),
                f"{step}: comes again and again",
            )
            self._page(step)
        raise Fell(f"after {MOST_PAGES} pages still at {self.person.step}")

    def _page(self, step: str) -> None:
        """Answer the open page, whatever it is."""
        if self.person.page.all(id="refused"):
            self._refused()
            return
        form = main_form(self.person.page)
        must(form, f"{step}: no form that goes on")
        if self._habit(step):
            return
        self._note_figures(step)
        if "kind" in form.fields:
            self._one_set(form)
            return
        self._answer(form, self.plan.sets[0], press=self._press(form))

    def _one_set(self, form: Form) -> None:
        """Tell one set, and add the next where there are more."""
        key = form.hidden.get("key", "A")
        current = self._set(key)
        self.sets_told = max(self.sets_told, ord(key) - ord("A") + 1)
        more = self.sets_told < len(self.plan.sets) and not self.answers.calm
        press = "another" if more and form.button("another") else ""
        self._answer(form, current, press=press)
        self.counts[key] = int(self.sent["parts"]["count"])

    def _set(self, key: str) -> SetPlan:
        number = ord(key[:1] or "A") - ord("A")
        return self.plan.sets[min(number, len(self.plan.sets) - 1)]

    def _press(self, form: Form) -> str:
        """Return the value of another button than the one that goes on, if this one wants it."""
        if self.habits["rush"] and form.button("first", "turn"):
            self.habits["rush"] = False
            return "first"
        if self.plan.looks_first and not self.plan.script and form.button("look"):
            return "look"
        return ""

    def _answer(self, form: Form, current: SetPlan, press: str = "") -> None:
        """Fill in and send the open page; put right what is blamed, as often as is honest."""
        step, self.given = self.person.step, {}
        before = self.person.at
        self._fill(form, current)
        if self.plan.script:
            form = self._choose_live(form, current)
        if press == "look":
            self._send(form, current, press)
            must(self.person.at.status == 200, f"{step}: looking is answered with errors")
            form = self._again(step)
            self._fill(form, current)
            press = ""
        self._send(form, current, press)
        for tries in range(MOST_TRIES):
            if self.person.at.status != 422:
                break
            self.plan.note("put right", step)
            form = self._again(step)
            self._put_right(form, current, tries)
            self._send(form, current, press)
        must(self.person.at.status != 422, f"{step}: can't get on: {self._complaints()}")
        must(self.person.at is not before, f"{step}: nothing happened")

    def _again(self, step: str) -> Form:
        form = main_form(self.person.page)
        if form is None:
            raise Fell(f"{step}: the page came back without its form")
        return form

    def _complaints(self) -> list[str]:
        return [one.says for one in blames(self.person.page)]

    def _fill(self, form: Form, current: SetPlan) -> None:
        """Answer what has no answer yet, or one that is not offered any more."""
        for name in list(self.given):
            one = form.fields.get(name)
            if one is None or not _offered(one, self.given[name]):
                del self.given[name]
        missing = {name for name in form.fields if name not in self.given}
        self.given |= self.answers.to(form, current, only=missing)

    def _choose_live(self, form: Form, current: SetPlan) -> Form:
        """Let the page change with what is chosen, as the script does; answer what is new."""
        for _ in range(2):
            fresh = self.person.live(form, self.given)
            if fresh is None:
                return form
            form = fresh
            before = dict(self.given)
            self._fill(form, current)
            if before == self.given:
                break
        return form

    def _put_right(self, form: Form, current: SetPlan, tries: int) -> None:
        if tries == MOST_TRIES - 2:
            self.answers.calm, self.given = True, {}
            self._fill(form, current)
        for one in blames(self.person.page):
            if one.name in form.fields:
                answer = put_right(form, one.name, one.says, self.plan, tries)
                if answer is not None:
                    self.given[one.name] = answer
        for name in list(self.given):
            field = form.fields.get(name)
            if field is None or not _offered(field, self.given[name]):
                del self.given[name]

    def _send(self, form: Form, current: SetPlan, press: str) -> None:
        sent = dict(self.given)
        files = [f for f in form.fields.values() if f.kind == "file"]
        if self.plan.photo and files and current.number == 0 and "photo" not in self.sent:
            sent[files[0].name] = (io.BytesIO(a_photo()), "photo.jpg")
            self.photo_of = form.hidden.get("key", "A")
            self.sent["photo"] = {}
        step = self.person.step
        self.person.send(form, sent, press)
        self.sent[step] = {f.name: f.checked or f.value for f in form.fields.values()} | sent

    def _refused(self) -> None:
        """Leave a refused set out where others are left; else bring something else."""
        page, found = self.person.page, refusals(self.person.page)
        inside = [e for part in page.all(id="refused") for e in part.iter()]
        self.plan.note("refused", _reason(page))
        leave = [e for e in inside if e.tag == "button" and e.get("name") == "leave"]
        links = [e.get("href") or "" for e in inside if e.tag == "a"]
        if leave and not self.answers.calm:
            self._leave_at_home(leave[0])
            return
        if links and not found and not self.answers.calm:
            self.person.get(links[0])
            return
        if len(self.counts) > 1 and found:
            left_out = re.search(r"/parts/([A-Z])/", found[0].action)
            self.person.send(found[0])
            if left_out:
                self.counts.pop(left_out[1], None)
            return
        self.answers.calm = True
        if not self.amends:
            raise Fell(f"{self.person.step}: refused, though nothing is wrong with the parts")
        step = self.amends.pop(0)
        if step == "instead" and found:
            self.counts.clear()
            self.person.send(found[0])
            return
        key = next(iter(self.counts))
        self.person.get(f"{self.draft}/{step.replace('KEY', key)}")
        form = main_form(self.person.page)
        if form is None or not self.person.path.endswith(step.replace("KEY", key)):
            return
        if "kind" in form.fields:
            self._one_set(form)
        else:
            self._answer(form, self._set(key))

    def _leave_at_home(self, button: Element) -> None:
        """Leave the parts that can't be done at home; the button tells how many go on."""
        key, left = (button.get("value") or "").partition(":")[0], re.findall(r"\d+", words(button))
        must(
            left and 0 < int(left[-1]) < self.counts[key],
            f"of {self.counts.get(key)} parts some go on: {words(button)}",
        )
        self.person.send(self._again(self.person.step), {}, button.get("value") or "")
        self.counts[key] = int(left[-1])
        self.sent.pop("on-them", None)  # the damage stays at home with its parts
        self.plan.note("habit", "left at home")

    @property
    def draft(self) -> str:
        return "/".join(self.person.path.split("/")[:3])

    def _habit(self, step: str) -> bool:
        """Do once what this customer does besides going on; True when another page is open now."""
        for name, steps, does in HABITS:
            if step in steps and self.habits.get(name):
                self.habits[name] = False
                return does(self)
        return False

    def _note_figures(self, step: str) -> None:
        """The price of the last page is the one of the bar, and of the page before it."""
        told, days = figures.bar(self.person.page)
        must(len(set(days)) < 3, f"{step}: the bar tells {days}")
        if step == "you":  # from here on nothing changes the price any more
            self.told.again("price", "limit of the price", "promised day", "last day")
            self.told.price(told, "the bar of the contact page")
            self.told.promise(days[:1], "the bar of the contact page")
        if step != "read-back":
            return
        self.told.price(figures.total_row(self.person.page), "the check page")
        self.told.price(told, "the bar of the check page")
        self.told.promise(days[:1], "the bar of the check page")
        figures.adds_up(self.person.page, "the check page")
        heads = ["".join(h.itertext()).strip() for h in self.person.page.all("h2")]
        self.told.tell("parts", sum(self.counts.values()), "what was typed")
        self.told.tell("parts", figures.counted(heads), "the check page")
        if self.photo_of in self.counts:
            must(re.search(r"\b1 (?:photo|Foto|foto)", self.person.page.text), "the photo is lost")


def _reason(page: Page) -> str:
    """Return the first words of a refusal."""
    strong = [words(e) for part in page.all(id="refused") for e in part.iter("strong")]
    return " ".join(" ".join(strong[1:2]).split()[:8])


def _offered(one: Field, answer: Any) -> bool:
    """Whether an answer can still be given to a field."""
    if one.kind not in ("radio", "checkbox", "select"):
        return True
    wanted = answer if isinstance(answer, list) else [answer]
    return set(wanted) <= set(one.values)


@lru_cache(maxsize=1)
def a_photo() -> bytes:
    """Return a small photo."""
    out = io.BytesIO()
    Image.new("RGB", (320, 240), "steelblue").save(out, "JPEG")
    return out.getvalue()
