"""Reads a served page as a person does: fields with what they offer, buttons, errors."""

from dataclasses import dataclass, field
from typing import Any
from xml.etree.ElementTree import Element

from tests.page import Page, words

CHOICES = ("radio", "checkbox")
FOOT = {"foot-choice", "lock", "scan"}
INPUTS = ("input", "select", "textarea")
WHOM = ("for-wheel", "for-other")


@dataclass
class Option:
    """One thing that can be chosen."""

    value: str
    label: str
    checked: bool = False


@dataclass
class Field:
    """One field with all that stands under its name. `kind` is the input's type or the tag.

    `places` has the value of every line of this name, with whom it is for: `for-wheel`.
    """

    name: str
    kind: str
    element: Element
    value: str = ""
    required: bool = False
    options: list[Option] = field(default_factory=list)
    places: list[tuple[str, str]] = field(default_factory=list)

    @property
    def values(self) -> list[str]:
        return [one.value for one in self.options]

    @property
    def checked(self) -> list[str]:
        return [one.value for one in self.options if one.checked]

    @property
    def short(self) -> str:
        """The name without the letter of its set: `A-layers` is `layers`."""
        head, dash, tail = self.name.partition("-")
        return tail if dash and len(head) == 1 and head.isupper() else self.name

    @property
    def set_key(self) -> str:
        return self.name[0] if self.short != self.name else ""

    def has(self, attribute: str) -> str:
        return self.element.get(attribute) or ""


@dataclass
class Button:
    """A button that sends the form."""

    name: str
    value: str
    label: str
    element: Element


@dataclass
class Form:
    """One form of a page."""

    action: str
    element: Element
    fields: dict[str, Field]
    hidden: dict[str, Any]
    buttons: list[Button]

    @property
    def classes(self) -> set[str]:
        return set((self.element.get("class") or "").split())

    @property
    def plain(self) -> Button | None:
        """The button that goes on: it has no name, or is the main one."""
        plain = [b for b in self.buttons if not b.name and not b.element.get("formaction")]
        main = [b for b in self.buttons if "button--main" in (b.element.get("class") or "")]
        return next(iter(plain or main or self.buttons), None)

    def button(self, value: str, name: str = "") -> Button | None:
        return next(
            (b for b in self.buttons if b.value == value and name in ("", b.name)),
            None,
        )


def forms_of(page: Page) -> list[Form]:
    """Return the forms of a page that change something; a page is read once."""
    known = page.__dict__.get("forms")
    if known is None:
        found = [f for f in page.all("form") if f.get("method", "").lower() == "post"]
        known = page.__dict__["forms"] = [read(page, one) for one in found]
    return known


def read(page: Page, form: Element) -> Form:
    """Read one form, with what names it from elsewhere on the page."""
    labels = {e.get("for"): words(e) for e in page.all("label") if e.get("for")}
    around = {
        id(inner): words(label) for label in form.iter("label") for inner in label.iter("input")
    }
    own = form.get("id")
    outside = page.all(form=own) if own else []
    fields: dict[str, Field] = {}
    hidden: dict[str, Any] = {}
    buttons: list[Button] = []
    whom = {id(e): c for d in form.iter() for c in _classes(d) if c in WHOM for e in d.iter()}
    for element in [*form.iter(), *outside]:
        name, kind = element.get("name") or "", element.get("type", "text").lower()
        if element.get("disabled") is not None:
            continue
        if element.tag == "button" and (element.get("type") or "submit").lower() == "submit":
            buttons.append(Button(name, element.get("value") or "", words(element), element))
        elif not name:
            continue
        elif element.tag == "input" and kind == "hidden":
            value, before = element.get("value") or "", hidden.get(name)
            lists = before if isinstance(before, list) else [before]
            hidden[name] = value if before is None else [*lists, value]
        elif element.tag == "input" and kind in ("submit", "image", "button"):
            buttons.append(Button(name, element.get("value") or "", "", element))
        elif element.tag in ("input", "select", "textarea"):
            label = around.get(id(element)) or labels.get(element.get("id")) or ""
            _add(fields, element, name, kind, label)
            fields[name].places.append((element.get("value") or "", whom.get(id(element), "")))
    return Form(form.get("action") or "", form, fields, hidden, buttons)


def _add(fields: dict[str, Field], element: Element, name: str, kind: str, label: str) -> None:
    kind = element.tag if element.tag != "input" else kind
    one = fields.setdefault(name, Field(name, kind, element))
    one.required = one.required or element.get("required") is not None
    if kind in CHOICES:
        checked = element.get("checked") is not None
        one.options.append(Option(element.get("value") or "on", label, checked))
    elif kind == "select":
        options = list(element.iter("option"))
        for option in options:
            value = option.get("value")
            value = words(option) if value is None else value
            chosen = option.get("selected") is not None
            one.options.append(Option(value, words(option), chosen))
        if options and not one.checked:
            one.options[0].checked = True
    elif kind == "textarea":
        one.value = "".join(element.itertext()).removeprefix("\n")
    else:
        one.value = element.get("value") or ""


def main_form(page: Page) -> Form | None:
    """Return the form that goes on: the page's own, else the last one of its content."""
    mine = {id(e) for e in page.one("main").iter("form")}
    found = [
        f
        for f in forms_of(page)
        if id(f.element) in mine and not f.classes & FOOT and not _beside(page, f)
    ]
    own = [f for f in found if f.element.get("id") == "page"]
    return (own or found or [None])[-1]


def told_of(form: Form, sent: dict[str, Any]) -> dict[str, Any]:
    """Return what a browser sends where a name stands twice: the answer only where it is seen."""
    kind = sent.get("kind")
    seen = "for-wheel" if kind == "wheel" else "for-other"
    found = dict(sent)
    for name, one in form.fields.items():
        if len(one.places) > 1 and not one.options and isinstance(sent.get(name), str):
            found[name] = [sent[name] if who in ("", seen) else was for was, who in one.places]
    return found


def refusals(page: Page) -> list[Form]:
    """Return the forms by which refused parts leave the order."""
    inside = {id(e) for part in page.all(id="refused") for e in part.iter("form")}
    return [f for f in forms_of(page) if id(f.element) in inside]


def _beside(page: Page, form: Form) -> bool:
    """Whether a form stands beside the question: it takes a set out, asks us, or saves."""
    if any(form.action.rstrip("/").endswith(one) for one in ("/remove", "/later", "/ask")):
        return True
    return form.element in [f.element for f in refusals(page)]


@dataclass
class Blame:
    """One entry of the list of errors: its words, and the field that it leads to."""

    says: str
    target: str
    name: str


def blames(page: Page) -> list[Blame]:
    """Return the entries of the list of errors at the top of a page."""
    found = []
    for box in page.all(class_="wrongs"):
        for entry in box.iter("li"):
            link = next(entry.iter("a"), None)
            target = (link.get("href") or "").partition("#")[2] if link is not None else ""
            found.append(Blame(words(entry), target, _named(page, target)))
    return found


def _named(page: Page, target: str) -> str:
    """Return the name of the field at an anchor; a group of choices is named by its first."""
    for element in page.all(id=target) if target else ():
        if element.tag in INPUTS or element.tag == "fieldset":
            inputs = [e for e in element.iter() if e.tag in INPUTS and e.get("name")]
            return (inputs[0].get("name") or "") if inputs else ""
    return ""


def _classes(element: Element) -> list[str]:
    return (element.get("class") or "").split()
