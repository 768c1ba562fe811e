"""The letters: what they say, in text and in HTML, with nothing remote in them."""

import re
from dataclasses import replace
from datetime import UTC, datetime
from html.parser import HTMLParser
from typing import Any

import html5lib
import pytest

from portal.craft.answers import RefitStep
from portal.craft.messages import Message
from portal.notices.letter_examples import example
from portal.notices.letters import HandedBack, NotBrought, Ready, ResumeLink, write
from portal.notices.sender import Sender
from portal.shop.money import Money
from portal.shop.states import LetterKind

SENDER = Sender(
    "Fennholt Coating Works",
    ("4 Kiln Lane", "Fennholt"),
    "+441632960471",
    "works@example.com",
    "Europe/London",
)
AT = datetime(2026, 6, 1, 8, 0, tzinfo=UTC)  # nine o'clock in London


class Links(HTMLParser):
    """Every address in a page that something could be fetched from."""

    def __init__(self) -> None:
        super().__init__()
        self.links: list[str] = []
        self.fetched: list[str] = []
        self.tags: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        for name, value in attrs:
            if name == "href" and tag == "a":
                self.links.append(value or "")
            elif name in {"src", "href", "background", "srcset"}:
                self.fetched.append(value or "")


@pytest.mark.parametrize("kind", LetterKind)
def test_every_kind_of_letter_is_written_with_its_link_and_sender(kind: LetterKind) -> None:
    letter = example(kind, SENDER, "GBP", AT)
    written = write(letter)
    assert 0 < len(written.subject) <= 200
    assert "\n" not in written.subject
    for body in (written.text, written.html):
        assert letter.link in body
        assert "Fennholt Coating Works" in body
        assert "+44 1632 960471" in body
    assert "\n\n\n" not in written.text


def links_of(letter: Any) -> list[str]:
    """The letter's own link, or the list of what still comes off; what we write, and what not."""
    first = f"{letter.link}/prepare" if letter.kind is LetterKind.COMING else letter.link
    if not letter.link:
        return []
    tells = "/J/" in letter.link and letter.kind is not LetterKind.BOOKED
    return [first, f"{letter.link}/news"] if tells else [first]


@pytest.mark.parametrize("kind", LetterKind)
def test_the_html_of_a_letter_is_sound_and_fetches_nothing(kind: LetterKind) -> None:
    letter = example(kind, SENDER, "GBP", AT)
    page = write(letter).html
    html5lib.HTMLParser(strict=True).parse(page)
    found = Links()
    found.feed(page)
    assert found.links == links_of(letter)
    assert found.fetched == []
    assert not found.tags & {"img", "script", "link", "iframe", "form", "object"}
    assert "url(" not in page


@pytest.mark.parametrize("kind", LetterKind)
def test_text_and_html_say_the_same(kind: LetterKind) -> None:
    """Every word of the text stands in the HTML too, but for its own signs."""
    written = write(example(kind, SENDER, "GBP", AT))
    in_html = set(re.findall(r"[\w£.@-]+", re.sub(r"<[^>]+>", " ", written.html)))
    signs = {"--", "-", "Say", "yes", "no", "or", "here", "ring", "us", "at", "any", "time", "how"}
    signs |= {"far", "the", "job", "is", "Your", "slip", "and", "of", "status", "call"}
    signs |= {"news", "prepare"}  # ends of addresses
    assert set(re.findall(r"[\w£.@-]+", written.text)) - in_html <= signs


def test_times_are_told_in_the_shops_zone() -> None:
    letter = example(LetterKind.RECEIVED, SENDER, "GBP", AT)
    assert "Monday 1 June, 09:00" in write(letter).text
    far = replace(SENDER, zone="America/New_York")
    assert "Monday 1 June, 04:00" in write(example(LetterKind.RECEIVED, far, "GBP", AT)).text


def test_nothing_that_a_customer_typed_becomes_markup_or_a_header() -> None:
    evil = replace(
        example(LetterKind.NOT_BROUGHT, SENDER, "GBP", AT),
        name="<script>x</script>",
        code="AB\r\nBcc: everyone@example.com",
    )
    assert isinstance(evil, NotBrought)
    written = write(evil)
    assert "<script>" not in written.html
    assert "&lt;script&gt;" in written.html
    assert "\n" not in written.subject
    assert "\r" not in written.subject


def test_signs_of_formatting_in_what_was_typed_stay_as_typed() -> None:
    letter = replace(
        example(LetterKind.FINDING, SENDER, "GBP", AT),
        found=(("100 % {x} %(y)s", Money(1, "GBP")),),
    )
    assert "100 % {x} %(y)s" in write(letter).text


def test_the_refit_guide_goes_along_with_its_cautions() -> None:
    step = RefitStep(
        "torque", Message("Tighten in a cross pattern"), Message("To the handbook."), caution=True
    )
    letter = example(LetterKind.HANDED_BACK, SENDER, "GBP", AT)
    assert isinstance(letter, HandedBack)
    written = write(replace(letter, steps=(step,)))
    assert "! Tighten in a cross pattern\n  To the handbook." in written.text
    assert "Warning" in written.html


def test_a_ready_letter_without_bags_and_telephone_leaves_no_hole() -> None:
    letter = example(LetterKind.READY, SENDER, "GBP", AT)
    assert isinstance(letter, Ready)
    written = write(replace(letter, bags=0, with_code=False, hours=(), owed=Money(0, "GBP")))
    assert "pickup code" not in written.text
    assert "Bring your slip and a document with your name" in written.text
    assert "To pay: £0\n" in written.text


def test_an_unknown_language_falls_back_to_english() -> None:
    letter = ResumeLink(sender=SENDER, locale="sv", link="https://example.com/r/X", until=AT)
    assert ", then delete it. You haven't booked anything" in write(letter).text
