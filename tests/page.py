"""What every page must satisfy, whoever fetched it: `check_page`, and a client that always asks.

Checked: well-formed HTML5, one h1, a title that begins with it, unique ids, every reference has
its target, every control has a name, forms have an action and a token, nothing inline.

A run is served some ten thousand pages, most of them for the second time. So each text is looked
through once a process, and each shape of a page is read by all rules of HTML5 once (`shape`):
those that were sound are kept under `build/` from run to run.
"""

import hashlib
import re
from functools import lru_cache
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit
from xml.etree.ElementTree import Element

import html5lib
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from tests.tags import read_tags

REFERENCES = frozenset(
    ("for", "aria-describedby", "aria-labelledby", "aria-controls", "list", "form")
)
NAMELESS = {"hidden", "submit", "button", "image", "reset"}


_OWN = Path(__file__)
_RULES = f"{html5lib.__version__} {_OWN.read_text(encoding='utf-8')}"
SOUND = _OWN.parents[1] / "build" / "sound" / hashlib.sha256(_RULES.encode()).hexdigest()[:16]


class BadPage(AssertionError):
    """A page that breaks a promise of every page."""


class Page:
    """A parsed page: `one`, `all`, `text`, `fields` for tests to read it by."""

    def __init__(self, html: str) -> None:
        self.html = html
        self.root: Element
        self.root, self.faults = read_tags(html)

    def all(self, tag: str = "*", **attributes: str) -> list[Element]:
        """Return elements by tag and attributes; `class_` matches one class among several."""
        wanted = {k.rstrip("_").replace("_", "-"): v for k, v in attributes.items()}
        found = self.root.iter() if tag == "*" else self.root.iter(tag)
        return [e for e in found if isinstance(e.tag, str) and (not wanted or _has(e, wanted))]

    def one(self, tag: str = "*", **attributes: str) -> Element:
        """Return the only such element."""
        found = self.all(tag, **attributes)
        assert len(found) == 1, f"{len(found)} × <{tag} {attributes}>"
        return found[0]

    @property
    def text(self) -> str:
        """All that a person reads, white space tidied."""
        return words(self.one("body"))

    def fields(self, form: int = 0) -> dict[str, Any]:
        """Return what the browser would send if the form were submitted as it stands."""
        forms = [f for f in self.all("form") if f.get("method", "").lower() == "post"]
        sent: dict[str, Any] = {}
        for element in forms[form].iter():
            _collect(element, sent)
        name = forms[form].get("id")
        # a field may stand elsewhere and name its form
        for element in self.all(form=name) if name else ():
            _collect(element, sent)
        return sent

    def action(self, form: int = 0) -> str:
        """Return where the form goes."""
        forms = [f for f in self.all("form") if f.get("method", "").lower() == "post"]
        return forms[form].get("action", "")


def words(element: Element) -> str:
    """Return the text of an element, white space tidied."""
    return re.sub(r"\s+", " ", "".join(element.itertext())).strip()


@lru_cache(maxsize=8)
def _parsed(html: str) -> Page:
    """Return the parsed page. Tests read a page again right after it was checked."""
    return Page(html)


def page_of(response: TestResponse) -> Page:
    """Parse a response; nobody changes what is returned."""
    return _parsed(response.get_data(as_text=True))


def check_page(html: str, *, strict: bool = True) -> Page:
    """Check a page and return it parsed; raises BadPage with every fault found.

    Whether it is HTML5 to the letter is only asked where `strict`: that takes most of the time.
    """
    return _checked(Page(html), strict=strict)


def _checked(page: Page, *, strict: bool = True) -> Page:
    faults = [f"not well-formed: {fault}" for fault in page.faults]
    faults += _controls(page.html)
    if strict:
        faults += _of_html5(page.html)
    for check in (_headings, _ids, _references, _names, _forms, _inline, _pictures):
        faults += check(page)
    if faults:
        raise BadPage("\n".join(faults))
    return page


def html5_faults(html: str) -> list[str]:
    """Return what a parser by the letter of HTML5 stumbles over."""
    parser = html5lib.HTMLParser(strict=False, namespaceHTMLElements=False)
    parser.parse(html)
    return [f"{place}: {code} {values}" for place, code, values in parser.errors]


def shape(html: str) -> str:
    """Return what the grammar of HTML5 sees of a page: tags, and no words or values.

    A value or text with an ampersand stays, because it may be wrong in itself; so does the type
    of an input, and once what stands there many times.
    """
    html = _VALUE.sub('=""', html)
    html = _TEXT.sub(">x<", html)
    html = _SPACE.sub(" ", html)
    return _AGAIN.sub(r"\1", _LEAVES.sub(r"\1", html))


_VALUE = re.compile(r'(?<! type)="[^"&]*"')
_TEXT = re.compile(r">[^<&]*[^<&\s][^<&]*<")
_SPACE = re.compile(r"\s+")
_LEAVES = re.compile(r"(<(\w+)[^<>]*>x</\2>)(?:\s*\1)+")
_AGAIN = re.compile(r"(<[^<>]+/>)(?:\s*\1)+")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0e-\x1f\x7f-\x9f]")
_KEYS = re.compile(r'value="[\w.-]{20,}"')
_DRAWN = re.compile(r'(?<=["#])p[0-9A-Z]{1,3}(?=[a-z]?[")])')
_sound_shapes: set[str] = set()
_sound_pages: set[int] = set()


def _of_html5(html: str) -> list[str]:
    key = hashlib.sha256(shape(html).encode()).hexdigest()
    if key in _sound_shapes:
        return []
    # what is sound stays so, until this file or the parser changes; other processes know it too
    known = SOUND / key
    faults = [] if known.exists() else [f"not HTML5: {fault}" for fault in html5_faults(html)]
    if not faults:
        SOUND.mkdir(parents=True, exist_ok=True)
        known.touch()
        _sound_shapes.add(key)
    return faults


def _controls(html: str) -> list[str]:
    found = _CONTROL.search(html)
    return [f"a control character: {found[0]!r}"] if found else []


class CheckedClient(FlaskClient):
    """A client whose every HTML answer is checked; `submit` sends a form of a served page."""

    def open(self, *args: Any, **kwargs: Any) -> TestResponse:
        response = super().open(*args, **kwargs)
        packed = "Content-Encoding" in response.headers
        moved = response.status_code in (301, 302, 303, 307, 308)
        if response.mimetype == "text/html" and not moved and not packed:
            body = response.get_data(as_text=True)
            if body.lstrip().lower().startswith("<!doctype"):
                _check_once(body)
        return response

    def submit(
        self,
        response: TestResponse,
        *,
        form: int | None = None,
        drop: tuple[str, ...] = (),
        **values: Any,
    ) -> TestResponse:
        """Fill the form of a served page (tokens and all) with `values` and send it.

        Without a number it is the first one, but never the field for scans. A name with a hyphen is
        given as `**{"set-0-count": "4"}`; `drop` leaves fields out.
        """
        page = page_of(response)
        if form is None:
            form = int(page.action(0).endswith("/counter/scan"))
        sent = {k: v for k, v in (page.fields(form) | values).items() if k not in drop}
        here = response.request.path
        return self.post(page.action(form) or here, data=sent)


def _check_once(html: str) -> None:
    """Check a page, unless it was good before; keys in its forms and ids of drawings are fresh."""
    ids: dict[str, str] = {}
    known = _DRAWN.sub(lambda one: ids.setdefault(one[0], f"p{len(ids)}-"), html)
    key = hash(_KEYS.sub("", known))
    if key not in _sound_pages:
        _checked(_parsed(html))
        _sound_pages.add(key)


def checked_client(app: Flask) -> CheckedClient:
    """Return a client with its own cookies that checks every page."""
    app.test_client_class = CheckedClient
    client = app.test_client()
    assert isinstance(client, CheckedClient)
    return client


def _has(element: Element, wanted: dict[str, str]) -> bool:
    for name, value in wanted.items():
        have = element.get(name)
        if have is None or (value not in have.split() if name == "class" else value != have):
            return False
    return True


def _collect(element: Element, sent: dict[str, Any]) -> None:
    name, kind = element.get("name"), element.get("type", "text")
    if not name or element.get("disabled") is not None:
        return
    if element.tag == "textarea":
        sent[name] = "".join(element.itertext()).removeprefix("\n")
    elif element.tag == "select":
        options = list(element.iter("option"))
        chosen = [o for o in options if o.get("selected") is not None] or options[:1]
        if chosen:
            sent[name] = chosen[0].get("value", words(chosen[0]))
    elif element.tag == "input" and kind in ("radio", "checkbox"):
        if element.get("checked") is not None:
            value = element.get("value", "on")
            if kind == "checkbox" and name in sent:
                before = sent[name] if isinstance(sent[name], list) else [sent[name]]
                sent[name] = [*before, value]
            else:
                sent[name] = value
    elif element.tag == "input" and kind not in ("submit", "file", "button", "image"):
        sent[name] = element.get("value", "")


def _headings(page: Page) -> list[str]:
    tops = page.all("h1")
    if len(tops) != 1:
        return [f"{len(tops)} h1"]
    mends = "Error|Fehler"
    title = re.sub(rf"^(?:{mends}): ", "", words(page.one("title")))
    faults = [] if title.startswith(words(tops[0])) else [f"title {title!r} is not the h1's"]
    if not page.one("html").get("lang"):
        faults.append("no language")
    if len(page.all("main")) != 1:
        faults.append("not one main")
    return faults


def _ids(page: Page) -> list[str]:
    seen: dict[str, int] = {}
    for element in page.all():
        if element.get("id") is not None:
            seen[element.get("id", "")] = seen.get(element.get("id", ""), 0) + 1
    return [f"id {name!r} × {times}" for name, times in seen.items() if times > 1 or not name]


def _references(page: Page) -> list[str]:
    ids = {e.get("id") for e in page.all()}
    faults = []
    for element in page.all():
        for name in REFERENCES.intersection(element.attrib):
            lost = [t for t in element.attrib[name].split() if t not in ids]
            faults += [f"<{element.tag} {name}={t!r}> has no target" for t in lost]
        link = element.get("href") or ""
        if element.tag == "a" and link.startswith("#") and link[1:] not in ids:
            faults.append(f"link {link!r} has no target")
        # the shop's own page for payments says that it is elsewhere
        elsewhere = "external" in (element.get("rel") or "").split()
        away = link.startswith("http") and urlsplit(link).netloc not in ("127.0.0.1:8000",)
        if away and not elsewhere:
            faults.append(f"link to another house: {link}")
    return faults


def _names(page: Page) -> list[str]:
    labelled = {e.get("for") for e in page.all("label")}
    inside = {id(e) for label in page.all("label") for e in label.iter()}
    faults = []
    for element in [*page.all("input"), *page.all("select"), *page.all("textarea")]:
        if element.get("type") in NAMELESS:
            continue
        named = element.get("aria-label") or element.get("aria-labelledby")
        if not named and element.get("id") not in labelled and id(element) not in inside:
            faults.append(f"<{element.tag} name={element.get('name')!r}> has no label")
    pressed = [*page.all("button"), *page.all("a")]
    return faults + [
        f"<{e.tag}> has no name: {e.attrib}"
        for e in pressed
        if not words(e) and not e.get("aria-label")
    ]


def _forms(page: Page) -> list[str]:
    faults = []
    for form in page.all("form"):
        if form.get("action") is None:
            faults.append("a form without action")
        sent = {e.get("name") for e in form.iter("input")}
        if form.get("method", "").lower() == "post" and "csrf_token" not in sent:
            faults.append(f"form to {form.get('action')} has no token")
    return faults


def _inline(page: Page) -> list[str]:
    every = page.all()
    faults = [f"inline style on <{e.tag}>" for e in every if "style" in e.attrib]
    faults += [f"<{e.tag} {a}>" for e in every for a in e.attrib if a.startswith("on")]
    faults += ["inline <style>" for _ in page.all("style")]
    faults += ["inline <script>" for e in page.all("script") if not e.get("src")]
    return faults


def _pictures(page: Page) -> list[str]:
    faults = [
        f"<img src={e.get('src')!r}> has no alt" for e in page.all("img") if "alt" not in e.attrib
    ]
    for element in page.root.iter():
        tag = element.tag if isinstance(element.tag, str) else ""
        is_svg = tag == "svg" or tag.endswith("}svg")
        if is_svg and element.get("role") != "img" and element.get("aria-hidden") != "true":
            faults.append("an svg that is neither a named picture nor hidden")
    return faults
