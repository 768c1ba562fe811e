"""What is checked on every page, paper and letter that a customer meets."""

import re
from typing import Any
from xml.etree.ElementTree import Element

from tests.customers.forms import blames, forms_of
from tests.customers.tongues import strangers
from tests.page import Page

SHOWN = ("aria-label", "alt", "title", "placeholder", "data-asked")
HOLES = re.compile(
    r"\{\w*\}|%\(\w+\)|%[sd]\b|\bUndefined\b|<\w+ object at|\bMessage\(|\bMoney\("
    r"|\b[A-Z]\w+\.[A-Z]{3,}"
)
# a value that is not there, where a value should stand
NOTHING = re.compile(r"(?:^|[:·,(] ?)None(?=$|[ ,;)])(?! of )")
# what tells a person what to do next, in each language
DOES = {
    "en": r"\b(?:enter|choose|tick|check|use|press|remove|call|add|take|select|ask|scan|type|write|"
    r"count|open|change|say|try|give|leave|measure|look|untick|mark|clear|correct|set|tell)\b",
    "de": r"\b(?:bitte|Sie)\b",
    "es": r"\b(?:indique|escriba|elija|marque|compruebe|use|pulse|quite|llame|añada|introduzca|"
    r"mire|seleccione|pregunte|revise|cambie|deje|ponga|mida|retire|vuelva|corrija|espere|diga|dé|"
    r"borre|inténtelo|llámenos|"
    r"(?:escríba|márque|elíja|compruébe|indíque|quíte)l[oa]s?)",
}


class Fell(AssertionError):
    """A customer did not get on, or was told something that is not so."""


def must(holds: object, says: str) -> None:
    """Let a customer fall, with what was wrong, unless it holds."""
    if not holds:
        raise Fell(says)


def no_holes(text: str, where: str) -> None:
    """Refuse a placeholder that nobody filled, and a value that is not there."""
    found = HOLES.findall(text)
    must(not found, f"{where}: a placeholder was left: {found[:3]}")


def own_words(text: str, language: str, allowed: tuple[str, ...], where: str) -> None:
    """Refuse words of another language."""
    found = strangers(text, language, allowed)
    must(not found, f"{where}: not {language}: {found[:4]}")


def all_words(page: Page) -> str:
    """Return what is read or heard of a page, but for what is marked as another language."""
    language = page.one("html").get("lang")
    found: list[str] = []

    def gather(element: Element) -> None:
        if not isinstance(element.tag, str) or element.tag in ("script", "style", "head"):
            return
        if element.get("lang") not in (None, language):
            return
        found.extend(f" ¦ {element.get(one)} ¦ " for one in SHOWN if element.get(one))
        block = element.tag not in ("b", "strong", "span", "small", "em", "a", "time", "i")
        found.append(" ¦ " if block else "")
        found.append(element.text or "")
        for child in element:
            gather(child)
            found.append(child.tail or "")
        found.append(" ¦ " if block else "")

    gather(page.one("body"))
    return re.sub(r"\s+", " ", "".join(found))


def no_nothing(page: Page, where: str) -> None:
    """Refuse a page that shows None where a value should stand; as a whole answer it is a word."""
    if "None" not in page.html:
        return
    answers = {id(e) for e in page.all("dd")}
    for element in page.one("body").iter():
        for text in (element.text, element.tail, element.get("value"), element.get("aria-label")):
            tidy = (text or "").strip()
            said = tidy == "None" and text is element.text and id(element) in answers
            must(said or not NOTHING.search(tidy), f"{where}: shows None in “{tidy[:60]}”")


def goes_on(page: Page, where: str) -> None:
    """Refuse a dead end: a button or a link leads on, besides the foot and the way to the start."""
    foot = {id(e) for one in page.all("footer") for e in one.iter()}
    buttons = [b for f in forms_of(page) if id(f.element) not in foot for b in f.buttons]
    links = [
        a
        for a in page.all("a")
        if id(a) not in foot
        and a.get("href") not in (None, "", "/")
        and not (a.get("href") or "").startswith(("#", "tel:"))
    ]
    must(buttons or links, f"{where}: a dead end")


def errors_lead(page: Page, language: str, where: str) -> None:
    """Every entry of the list of errors says what to do and leads to a field that is there."""
    found = blames(page)
    must(found, f"{where}: 422, and no list of errors")
    ids = {e.get("id") for e in page.all() if e.get("id")}
    for one in found:
        must(one.target in ids, f"{where}: the error “{one.says}” leads nowhere")
        must(one.name, f"{where}: the error “{one.says}” leads to no field")
        doing = re.search(
            DOES.get(language, ""), one.says, re.IGNORECASE if language != "de" else 0
        )
        must(doing, f"{where}: the error “{one.says}” does not say what to do")
    beside = [e for e in page.all(class_="wrong") if e.get("id")]
    must(beside, f"{where}: no error stands beside its field")


def nothing_lost(page: Page, sent: dict[str, Any], where: str) -> None:
    """After an error everything that was typed stands in its field again."""
    for form in forms_of(page):
        if form.hidden.get("proposal", "") != sent.get("proposal", ""):
            continue  # the same fields of another load
        for name, one in form.fields.items():
            if one.kind in ("file", "password", "radio", "checkbox") or name not in sent:
                continue
            if isinstance(sent[name], list):
                for was in sent[name]:
                    must(was in [v for v, _ in one.places], f"{where}: typed in {name}: “{was}”")
                continue
            if one.kind == "select" and sent[name] not in one.values:
                continue  # what is offered hangs on another choice
            now = one.checked[0] if one.kind == "select" and one.checked else one.value
            was = str(sent[name])
            must(
                " ".join(now.split()) == " ".join(was.split()),
                f"{where}: typed in {name}: “{was}”, shown again: “{now}”",
            )
