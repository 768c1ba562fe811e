"""What the table of ASVS requirements (tests/house/ASVS.md) asks and no other test looks at."""

import re
from datetime import timedelta

import pytest

from portal.web.counter.scan_by import HOLDS_S, mark, who_scanned
from tests.cast import COUNTER, sign_in
from tests.conftest import HOUSE
from tests.page import page_of

NGINX = (HOUSE / "portal" / "deploy" / "nginx.conf").read_text("utf-8")


def test_a_password_is_hidden_where_it_is_typed_and_may_be_kept_by_a_browser(client) -> None:
    field = page_of(client.get("/counter/sign-in")).one("input", name="password")
    assert field.get("type") == "password"
    assert field.get("autocomplete") == "current-password"


@pytest.mark.parametrize(
    "address", ["/", "/nowhere", "/healthz", "/robots.txt", "/counter/sign-in"]
)
def test_every_text_says_its_characters(client, address: str) -> None:
    kind = client.get(address).headers["Content-Type"]
    assert re.fullmatch(r"text/(html|plain); charset=utf-8", kind)


@pytest.mark.parametrize("method", ["TRACE", "CONNECT", "PROPFIND"])
def test_a_method_that_nobody_needs_is_refused(client, method: str) -> None:
    answer = client.open("/", method=method, headers={"Cookie": "secret=1"})
    assert answer.status_code == 405
    assert "secret" not in answer.get_data(as_text=True)


@pytest.mark.parametrize("address", ["/counter/today", "/counter/floor", "/counter/find"])
def test_signing_out_is_one_page_away_from_each_page_of_staff(app, client, address: str) -> None:
    page = page_of(sign_in(app, client, COUNTER).get(address))
    assert [one for one in page.all("a") if one.get("href", "").endswith("/counter/me")]
    own = page_of(client.get("/counter/me"))
    assert [one for one in own.all("form") if one.get("action", "").endswith("/sign-out")]


def test_no_page_of_a_person_is_kept_by_a_browser(app, client) -> None:
    sign_in(app, client)
    for address in ("/counter/today", "/counter/floor", "/counter/me", "/office/people"):
        answer = client.get(address)
        assert (answer.status_code, answer.headers["Cache-Control"]) == (200, "no-store"), address


def test_a_kept_scan_counts_for_nobody_else_and_not_for_ever(app, client, clock) -> None:
    sign_in(app, client, COUNTER)
    with client, app.extensions["unit"].read():
        client.get("/counter/floor")
        signed = mark()
        person, since, signature = signed.split(".")
        assert who_scanned(signed) == int(person)
        for forged in (
            f"{int(person) + 1}.{since}.{signature}",
            f"{person}.{int(since) + 1}.{signature}",
            f"{person}.{since}.{'0' * len(signature)}",
            f"{person}.{since}.",
            "",
        ):
            assert who_scanned(forged) is None, forged
        clock.advance(seconds=HOLDS_S + timedelta(seconds=1).total_seconds())
        assert who_scanned(signed) is None


def test_the_proxy_speaks_only_tls_1_2_and_1_3_and_leads_there() -> None:
    assert re.findall(r"^\s*ssl_protocols (.*);$", NGINX, re.M) == ["TLSv1.2 TLSv1.3"]
    assert re.search(r"listen 80;[^}]*return 301 https://", NGINX)
    # RFC 9325, 4.2: a key of one's own for each session, and authenticated encryption
    ciphers = re.findall(r"^\s*ssl_ciphers (.*);$", NGINX, re.M)[0].split(":")
    sound = re.compile(r"ECDHE-(ECDSA|RSA)-(AES(128|256)-GCM-SHA(256|384)|CHACHA20-POLY1305)")
    assert [one for one in ciphers if not sound.fullmatch(one)] == []


def test_what_stands_in_the_address_is_no_field_of_a_form(client) -> None:
    page = client.get("/counter/sign-in")
    answer = client.submit(page, login="", password="")
    sent = client.post("/counter/sign-in?login=odd&password=x", data={"login": "", "password": ""})
    assert answer.status_code == 422
    assert sent.status_code != 303
