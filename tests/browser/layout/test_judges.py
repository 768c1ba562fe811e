"""The judges of this folder find what is wrong with a page that is wrong in every way."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser

from tests.browser.layout.judge import ALL_RULES, Judge
from tests.browser.layout.pages import Shown

pytestmark = pytest.mark.browser

BAD = """<!doctype html><html lang="en"><head><title>A bad page</title>
<meta name="viewport" content="width=device-width"><style>
.wide { inline-size: 900px } .pale { color: #999; background-image: linear-gradient(#fff, #fff) }
.tight { block-size: 1.5rem; overflow: hidden } .bar { position: fixed; inset: auto 0 0;
background: #fff; block-size: 50vh }
.own { forced-color-adjust: none; color: #888; background: #777 }
.bare:focus-visible { outline: 0 } main { padding-block-end: 60vh }
</style></head><body><main><h1>A bad page</h1>
<p class="wide">Wider than any telephone</p><p class="pale">Too pale to read outside</p>
<p><a href="/">Go</a></p><input id="nameless">
<p class="tight">Words that are cut when they are wider spaced</p>
<p class="own">Keeps its pale colour when the reader asks for strong ones</p>
<div><button class="bare">No mark</button></div>
</main><div class="bar"></div></body></html>"""


@pytest.fixture(scope="module")
def bad(measuring: Browser) -> Iterator[Judge]:
    context = measuring.new_context(viewport={"width": 390, "height": 844})
    page = context.new_page()
    page.route("**/*", lambda route: route.fulfill(body=BAD, content_type="text/html"))
    judge = Judge(page, Shown("bad", "open", "/", 200, (), BAD), "http://bad.example/")
    judge.open()
    yield judge
    context.close()


def test_axe_finds_a_field_without_a_name(bad: Judge) -> None:
    assert any(fault.startswith("label: ['#nameless']") for fault in bad.axe(ALL_RULES))


def test_a_pale_text_on_a_pictured_ground_is_found(bad: Judge) -> None:
    assert any("'.pale'" in fault for fault in bad.colours("light"))


def test_a_text_that_resists_forced_colours_is_found_and_no_other(bad: Judge) -> None:
    faults = bad.forced()
    assert any("'.own'" in fault for fault in faults)
    assert not any("'.pale'" in fault for fault in faults)
    bad.open()


def test_what_is_too_wide_is_named(bad: Judge) -> None:
    assert any("Wider than any telephone" in fault for fault in bad.measure("sideways"))


def test_text_that_is_cut_by_wider_spacing_is_named(bad: Judge) -> None:
    bad.measure("spaced", True)
    assert any("Words that are cut" in fault for fault in bad.measure("cut"))
    bad.measure("spaced", False)


def test_a_link_too_small_for_a_thumb_is_named(bad: Judge) -> None:
    assert any(fault.endswith("<a> Go") for fault in bad.measure("small", 44))


def test_focus_without_a_mark_is_found(bad: Judge) -> None:
    bad.page.locator(".bare").focus()
    assert not bad.measure("focused")["marked"]


def test_focus_under_a_bar_is_found(bad: Judge) -> None:
    bad.page.evaluate("() => { document.body.style.paddingTop = '70vh'; scrollTo(0, 0) }")
    bad.page.evaluate("() => document.querySelector('a').focus({preventScroll: true})")
    assert bad.measure("focused")["covered"]
