"""Privacy and terms: read by everybody, written in the office, linked where it matters."""

import pytest

from portal.orders.office.audit_view import audit_entries
from portal.orders.office.documents import document
from tests.cast import COUNTER, OFFICE, sign_in
from tests.page import checked_client, page_of
from tests.readers import english
from tests.web.hand import Hand
from tests.web.walk import Customer

BOTH = ("privacy", "terms")


@pytest.fixture
def office(app) -> Hand:
    return Hand(sign_in(app, checked_client(app), OFFICE))


def links(page) -> set[str]:
    return {a.get("href", "") for a in page.all("a")}


@pytest.mark.parametrize("kind", BOTH)
def test_the_standard_text_is_a_page_in_each_language(client, kind: str) -> None:
    found = {}
    for code in ("en", "de", "es"):
        client.set_cookie("lang", code)
        answer = client.get(f"/{kind}")
        assert answer.status_code == 200
        assert "X-Robots-Tag" not in answer.headers
        page = page_of(answer)
        assert page.one("html").get("lang") == code
        assert len(page.all("h2")) >= 4
        assert page.all("li")
        found[code] = page.text
    assert len(set(found.values())) == 3


def test_the_pages_are_linked_where_they_matter(client) -> None:
    assert {"/privacy", "/terms"} <= links(page_of(client.get("/")))
    customer = Customer(client)
    customer.walk_to("you")
    own = [a for a in customer.page.one("main").iter("a") if a.get("href") == "/privacy"]
    assert own[0].get("target") == "_blank"
    customer.walk_to("read-back")
    inside = {a.get("href") for a in customer.page.one("main").iter("a")}
    assert {"/privacy", "/terms"} <= inside
    customer.go_to("ask")
    assert "/privacy" in {a.get("href") for a in customer.page.one("main").iter("a")}


def test_the_office_writes_its_own_text_and_is_told_what_is_missing(app, office, client) -> None:
    there = office.client.get("/office/privacy")
    page = page_of(there)
    assert "no legal advice" in page.text
    assert "There is no text of yours" not in page.text
    sent = office.client.submit(there, en="# Ours\r\n\r\n<b>Only</b> this.\r\n- one\r\n- two")
    assert sent.status_code == 303
    again = page_of(office.client.get(sent.location)).text
    assert "There is no text of yours in: Deutsch, Español" in again
    shown = page_of(client.get("/privacy"))
    assert "<b>Only</b> this." in shown.text
    assert [h.text for h in shown.all("h2")] == ["Ours"]
    assert len(shown.one("article").findall("ul/li")) == 2
    client.set_cookie("lang", "de")
    assert "Wie lange wir es speichern" in page_of(client.get("/privacy")).text
    unit = app.extensions["unit"]
    assert document(unit, "privacy").history[0].by == "Wren"
    (deed,) = [one for one in audit_entries(unit) if one.verb == "put_privacy"]
    assert "en: – → # Ours" in english(deed.says)


def test_a_text_can_start_from_the_standard_one_and_go_back_to_it(office, client) -> None:
    there = office.client.get("/office/terms?start=de")
    begun = page_of(there).one("textarea", name="de").text
    assert "# Ihre Buchung" in begun
    office.client.submit(there)
    client.set_cookie("lang", "de")
    assert "Ihre Buchung" in page_of(client.get("/terms")).text
    there = office.client.get("/office/terms")
    assert page_of(there).one("textarea", name="de").text.strip() == begun.strip()
    office.client.submit(there, de="")
    assert page_of(office.client.get("/office/terms")).one("textarea", name="de").text in (
        None,
        "",
        "\n",
    )


def test_an_older_version_can_be_read_and_saved_again(app, office) -> None:
    for text in ("First text.", "Second text."):
        office.client.submit(office.client.get("/office/terms"), en=text)
    first = document(app.extensions["unit"], "terms").history[-1].book_id
    there = office.client.get(f"/office/terms?edition={first}")
    assert page_of(there).one("textarea", name="en").text.strip() == "First text."


def test_two_who_write_at_once_lose_nothing(office, app) -> None:
    first, second = office.client.get("/office/terms"), office.client.get("/office/terms")
    office.client.submit(first, en="First text.")
    answer = office.client.submit(second, en="Second text.")
    assert answer.status_code == 422
    page = page_of(answer)
    assert page.one("textarea", name="en").text.strip() == "Second text."
    assert office.client.submit(answer, en="Second text.").status_code == 303


def test_a_text_that_is_too_long_is_told_beside_its_field(office) -> None:
    answer = office.client.submit(office.client.get("/office/terms"), es="x" * 12_001)
    assert answer.status_code == 422
    assert "at most" in page_of(answer).text


def test_the_counter_writes_no_policies(app) -> None:
    counter = sign_in(app, checked_client(app), COUNTER)
    assert counter.get("/office/privacy").status_code == 403
