"""The checker of pages is itself shown to fail."""

import pytest

from tests.page import BadPage, Page, check_page

GOOD = """<!doctype html><html lang="en"><head><title>Parts – Works</title></head><body>
<main><h1>Parts</h1><form action="/x" method="post">
<input type="hidden" name="csrf_token" value="1">
<label for="a">How many</label><input id="a" name="a" value="4" aria-describedby="b"><p id="b">…</p>
<button>Go</button></form><a href="#a">There</a></main></body></html>"""

FAULTS = {
    "two h1": ("<h1>Parts</h1>", "<h1>Parts</h1><h1>Parts</h1>"),
    "another title": ("<title>Parts", "<title>Home"),
    "an id twice": ('<p id="b">', '<p id="a">'),
    "a hint that is not there": ('describedby="b"', 'describedby="c"'),
    "a label for nothing": ('<label for="a">', '<label for="z">'),
    "a link into nothing": ('href="#a"', 'href="#z"'),
    "a form without a token": ('name="csrf_token"', 'name="other"'),
    "a form without an action": (' action="/x"', ""),
    "an inline style": ("<p id", '<p style="color:red" id'),
    "an inline script": ("</main>", "<script>1</script></main>"),
    "a handler": ("<button>", '<button onclick="x()">'),
    "a button without a name": ("<button>Go", "<button>"),
    "a picture without a text": ("</main>", '<img src="/a.png"></main>'),
    "a nameless drawing": ("</main>", "<svg></svg></main>"),
    "a stray end tag": ("</main>", "</b></main>"),
    "no language": (' lang="en"', ""),
    "no main": ("<main>", "<div>"),
    "a foreign link": ('href="#a"', 'href="https://example.com/"'),
}


def test_a_good_page_passes() -> None:
    check_page(GOOD)


@pytest.mark.parametrize("fault", FAULTS)
def test_a_planted_fault_is_found(fault: str) -> None:
    before, after = FAULTS[fault]
    assert before in GOOD
    with pytest.raises(BadPage):
        check_page(GOOD.replace(before, after, 1))


def test_the_fields_of_a_form_are_read_as_a_browser_would_send_them() -> None:
    assert Page(GOOD).fields() == {"csrf_token": "1", "a": "4"}
