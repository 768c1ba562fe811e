"""Headers, compression, assets: what every answer carries."""

import gzip
import re
from dataclasses import replace

import brotli
import pytest

from portal.web.kit.http.assets import Assets, load, minify
from tests.cast import token_of
from tests.conftest import an_app
from tests.scan.headers import BEST, score
from tests.web.walk import begin

PUBLIC = ("/", "/why-powder", "/figures")


def directives(header: str) -> dict[str, list[str]]:
    rows = [part.split() for part in header.split(";")]
    return {row[0]: row[1:] for row in rows}


@pytest.mark.parametrize(
    "address", ["/", "/why-powder", "/nowhere", "/counter/sign-in", "/healthz"]
)
def test_every_answer_allows_only_what_is_ours(client, address) -> None:
    headers = client.get(address).headers
    policy = directives(headers["Content-Security-Policy"])
    assert policy["default-src"] == ["'none'"]
    for name, sources in policy.items():
        assert sources in (["'self'"], ["'none'"]), name
    assert policy["frame-ancestors"] == policy["base-uri"] == ["'none'"]
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "no-referrer"
    assert headers["Cross-Origin-Opener-Policy"] == "same-origin"
    assert headers["Cross-Origin-Resource-Policy"] == "same-origin"
    assert "Strict-Transport-Security" not in headers


def test_behind_tls_browsers_are_told_to_stay_there(settings, clock) -> None:
    with an_app(replace(settings, base_url="https://works.example"), clock) as safe:
        answer = safe.test_client().get("/", base_url="https://works.example")
    strict = answer.headers["Strict-Transport-Security"]
    assert strict == "max-age=63072000; includeSubDomains"
    cookie = answer.headers["Set-Cookie"]
    assert cookie.startswith("__Host-form=")
    for mark in ("Secure", "HttpOnly", "SameSite=Lax", "Path=/"):
        assert mark in cookie
    assert "Domain" not in cookie


def test_the_headers_have_the_best_score_of_a_published_method(settings, clock) -> None:
    with an_app(replace(settings, base_url="https://works.example"), clock) as safe:
        answer = safe.test_client().get("/", base_url="https://works.example")
    cookies = answer.headers.getlist("Set-Cookie")
    assert cookies
    found = score(answer.headers, cookies)
    assert found.points == BEST, found.tests
    for name in ("Content-Security-Policy", "Referrer-Policy", "Strict-Transport-Security"):
        fewer = {key: value for key, value in answer.headers.items() if key != name}
        assert score(fewer, cookies).points < BEST, name
    assert score(answer.headers, ["form=1; Secure; Path=/"]).points < BEST


@pytest.mark.parametrize(
    ("path", "field", "value"), [("language", "lang", "de"), ("units", "units", "inch")]
)
def test_what_was_chosen_is_kept_for_this_host_alone(settings, clock, path, field, value) -> None:
    base = "https://works.example"
    with an_app(replace(settings, base_url=base), clock) as safe:
        client = safe.test_client()
        token = token_of(client.get("/", base_url=base).get_data(as_text=True))
        sent = {field: value, "back": "/", "csrf_token": token}
        answer = client.post(f"/{path}", data=sent, base_url=base, headers={"Referer": f"{base}/"})
    [cookie] = [one for one in answer.headers.getlist("Set-Cookie") if value in one]
    assert cookie.startswith(f"__Host-{field}={value};")
    for mark in ("Secure", "HttpOnly", "SameSite=Lax", "Path=/"):
        assert mark in cookie


def test_the_camera_is_for_the_counter_alone(client, staff_client) -> None:
    assert "camera=()" in client.get("/").headers["Permissions-Policy"]
    page = staff_client.get("/counter/find")
    assert "camera=(self)" in page.headers["Permissions-Policy"]


@pytest.mark.parametrize("address", PUBLIC)
def test_open_pages_may_be_listed_and_private_ones_may_not(client, address) -> None:
    assert "X-Robots-Tag" not in client.get(address).headers
    hidden = client.get("/J/ABCDEFGHIJKLMNOPQRSTUVWXYZ").headers
    assert "noindex" in hidden["X-Robots-Tag"]
    assert hidden["Cache-Control"] == "no-store"


def assets_of(app) -> Assets:
    return app.extensions["assets"]


def test_assets_are_kept_for_a_year_under_their_hash_and_gone_without_it(app, client) -> None:
    url = assets_of(app).url("site.css")
    answer = client.get(url)
    assert answer.headers["Cache-Control"] == "public, max-age=31536000, immutable"
    assert client.get("/static/000000000000/site.css").status_code == 404
    assert client.get(url.replace("site.css", "../portal/settings.py")).status_code == 404


@pytest.mark.parametrize(
    ("coding", "unpack"), [("br", brotli.decompress), ("gzip", gzip.decompress)]
)
def test_assets_and_pages_travel_compressed(app, client, coding, unpack) -> None:
    plain = client.get(assets_of(app).url("site.css"))
    for address in (assets_of(app).url("site.css"), "/why-powder"):
        packed = client.get(address, headers={"Accept-Encoding": coding}, buffered=True)
        assert packed.headers["Content-Encoding"] == coding
        assert "Accept-Encoding" in packed.headers["Vary"]
        text = unpack(packed.data).decode()
        assert "site.css" in text or text == plain.text


def test_a_changed_file_changes_the_hash(tmp_path) -> None:
    (tmp_path / "css").mkdir()
    (tmp_path / "css" / "base.css").write_text("a{x:1}", encoding="utf-8")
    before = load(tmp_path).mark
    (tmp_path / "css" / "base.css").write_text("b{x:1}", encoding="utf-8")
    assert load(tmp_path).mark != before


def test_an_asset_that_does_not_exist_is_our_own_mistake(app) -> None:
    with pytest.raises(LookupError):
        assets_of(app).url("nothing.css")


def test_minified_css_means_the_same() -> None:
    css = "/* a */ @layer one { a :is(b, c) , d { margin : calc(1px + 0.5px) ; &:hover { x: 1 } } }"
    css += "\n@container side (min-width: 1px) { e { x: 1 } }"
    assert minify(css) == (
        "@layer one{a :is(b,c),d{margin:1.5px;&:hover{x:1}}}@container side (width>=1px){e{x:1}}"
    )


def test_css_that_cannot_be_parsed_stops_the_start() -> None:
    with pytest.raises(ValueError, match="Unexpected"):
        minify("a { b: 1 } }")


def test_customers_never_load_what_only_staff_need(app) -> None:
    files = assets_of(app).files
    assert b".shelf-marks" in files["staff.css"].body
    assert b".shelf-marks" not in files["site.css"].body


def test_the_customers_first_view_is_light(app, client) -> None:
    files = assets_of(app).files
    css, order = (len(files[name].packed["br"]) for name in ("site.css", "order.css"))
    assert max(css, order) <= 7_500
    assert len(files["site.js"].packed["br"]) <= 10_000
    for address in PUBLIC:
        page = client.get(address, headers={"Accept-Encoding": "br"}, buffered=True)
        # the list of sources is where somebody looks something up, never the first page of a visit
        most = 15_600 if address == "/figures" else 14_600
        assert len(page.data) + css <= most, address
    # the page with the most pictures: every kind of part and every face of a wheel
    parts = begin(client).headers["Location"]
    page = client.get(parts, headers={"Accept-Encoding": "br"}, buffered=True)
    assert len(page.data) + order <= 14_600
    fonts = sum(len(f.body) for name, f in files.items() if name.endswith(".woff2"))
    # two families: text in two weights, its condensed cut, and the one for codes and sums
    assert fonts <= 40_000


def test_a_page_asks_for_few_things(client) -> None:
    page = client.get("/").text
    # itself, its sheet, its script, and the three files of type that it begins with
    assert page.count("/static/") + 1 <= 6


def test_the_sign_of_the_house_and_the_word_to_robots(client) -> None:
    assert client.get("/favicon.svg").mimetype == "image/svg+xml"
    assert "Disallow: /J/" in client.get("/robots.txt").text


def test_alive_and_ready_are_two_questions(client, app) -> None:
    assert client.get("/healthz").text == "ok\n"
    ready = client.get("/readyz")
    told = app.extensions["unit"].store()
    assert ready.status_code == 200
    how, worker, room = ready.text.removeprefix("ready\n").splitlines()
    assert how == f"{told.database} {told.version}, journal: {told.journal}"
    assert worker == "mail worker: not running; letters waiting: 0"
    assert re.fullmatch(r"room left: [\d.]+ [GM]B", room)
    app.extensions["unit"].close()
    assert client.get("/healthz").status_code == 200
