"""Refusals and accidents: a page in plain words, an id for ours, a log without anyone's link."""

import io
import json
import logging
from datetime import datetime, timedelta

import pytest
import sqlalchemy as sa

from portal.craft.messages import Message
from portal.orders.kernel.errors import Expired, Overtaken, Refused, Taken, Unknown
from portal.web.kit.http.logs import JsonLines, MaskTokens, masked
from tests.conftest import an_app
from tests.page import page_of

REFUSALS = [(Refused, 409), (Overtaken, 409), (Taken, 409), (Unknown, 404), (Expired, 410)]
TOKEN = "BKNQ2X6ZKC5IJECNMB7RGCTQJV"


@pytest.fixture
def app(settings, clock):
    with an_app(settings, clock) as own:
        yield own


@pytest.fixture
def broken(app):
    """The app with a page that raises whatever is asked for."""
    known = {kind.__name__: kind(Message("The last place is gone.")) for kind, _ in REFUSALS}

    @app.get("/break/<name>")
    def break_it(name: str) -> str:
        raise known.get(name, RuntimeError("secret figures"))

    app.testing = False
    return app


@pytest.mark.parametrize(("kind", "status"), REFUSALS)
def test_a_named_refusal_is_a_page_with_its_sentence(broken, client, kind, status) -> None:
    answer = client.get(f"/break/{kind.__name__}")
    assert answer.status_code == status
    assert "The last place is gone." in page_of(answer).text


def test_an_accident_shows_an_id_that_stands_in_the_log_and_nothing_more(
    broken, client, caplog
) -> None:
    with caplog.at_level(logging.ERROR, logger="portal.web"):
        answer = client.get("/break/x")
    assert answer.status_code == 500
    assert "secret figures" not in answer.text
    mark = page_of(answer).all("dd")[0].text
    assert mark in caplog.text
    assert "secret figures" in caplog.text


def test_a_page_that_is_not_there_says_what_may_have_happened(client) -> None:
    answer = client.get("/nowhere")
    assert answer.status_code == 404
    assert "Check the address: part of it may be missing." in page_of(answer).text


def test_a_way_that_is_not_allowed_names_the_ways_that_are(client) -> None:
    answer = client.post("/healthz")
    assert answer.status_code in (400, 405)


def test_a_form_without_its_token_changes_nothing_and_says_so(client) -> None:
    answer = client.post("/counter/sign-in", data={"login": "x"})
    assert answer.status_code in (400, 422, 200)
    assert client.get("/counter/today").status_code == 303


def test_tokens_are_masked_before_a_line_is_written() -> None:
    line = f'GET /J/{TOKEN}/slip.pdf?size=a4 and /j/{TOKEN.lower()} "200"'
    assert TOKEN not in masked(line)
    assert TOKEN.lower() not in masked(line)
    typed = "-".join(TOKEN[i : i + 4] for i in range(0, 26, 4))
    assert TOKEN[4:8] not in masked(f"GET /J/{typed}/slip")
    assert "/slip.pdf?size=a4" in masked(line)
    record = logging.LogRecord("x", logging.INFO, "", 0, "seen %s", (TOKEN,), None)
    MaskTokens().filter(record)
    assert record.getMessage() == "seen BKNQ…"


@pytest.mark.parametrize(
    "personal",
    ["robin@example.com", "+44 7700 900123", "07700 900123", "(01632) 960-471", "+447700900123"],
)
def test_addresses_and_telephones_are_masked(personal: str) -> None:
    line = masked(f"wrong row: {personal!r}, {personal}")
    assert personal not in line
    assert "900" not in line
    assert "example" not in line


def test_a_line_is_json_with_route_status_and_time_and_without_the_key(app, client) -> None:
    lines = io.StringIO()
    handler = logging.StreamHandler(lines)
    handler.setFormatter(JsonLines())
    logger = logging.getLogger("portal")
    logger.addHandler(handler)
    level = logger.level
    logger.setLevel(logging.INFO)
    try:
        client.get(f"/J/{TOKEN}?name=Robin")
    finally:
        logger.removeHandler(handler)
        logger.setLevel(level)
    (line,) = [json.loads(one) for one in lines.getvalue().splitlines()]
    assert line["route"] == "/J/<token>"
    assert (line["method"], line["status"], line["level"]) == ("GET", 404, "info")
    assert line["ms"] > 0
    assert datetime.fromisoformat(line["time"]).utcoffset() == timedelta(0)
    assert "Robin" not in lines.getvalue()
    assert TOKEN not in lines.getvalue()


def test_the_number_that_a_person_sees_finds_the_line_and_the_line_names_nobody(
    broken, client
) -> None:
    """A row that the database refuses, with a person's data in it and in the server's answer."""
    person = {"name": "Robin Sample", "phone": "+447700900123", "pickup": "4711", "token": TOKEN}

    @broken.get("/break-a-row")
    def break_a_row() -> str:
        here = broken.extensions["unit"]
        says = "INSERT INTO letter VALUES (:name, :phone, :pickup, :token)"
        here.write(lambda session: session.execute(sa.text(says), person))
        return ""

    lines = io.StringIO()
    handler = logging.StreamHandler(lines)
    handler.setFormatter(JsonLines())
    logging.getLogger("portal.web").addHandler(handler)
    try:
        answer = client.get("/break-a-row")
    finally:
        logging.getLogger("portal.web").removeHandler(handler)
    (line,) = [json.loads(one) for one in lines.getvalue().splitlines()]
    assert line["request"] == page_of(answer).all("dd")[0].text
    assert "INSERT INTO letter" in line["trace"][-1]
    for value in person.values():
        assert value not in lines.getvalue()


def test_nothing_that_was_typed_begins_a_line_of_the_log() -> None:
    typed = 'a\r\n{"level": "error"}\u2028\x1b[2J'
    record = logging.LogRecord("x", logging.INFO, "", 0, "refused %s", (typed,), None)
    line = JsonLines().format(record)
    assert len(line.splitlines()) == 1
    assert "\x1b" not in line
    assert json.loads(line)["says"] == f"refused {typed}"


def test_what_a_server_repeats_of_a_row_is_cut_out() -> None:
    says = "duplicate key\nDETAIL:  Key (name)=(Robin Sample) already exists.\n[SQL: INSERT]"
    assert masked(says) == "duplicate key\n\n[SQL: INSERT]"


def test_ordinary_words_and_short_codes_stay_in_the_log() -> None:
    line = "GET /counter/job/7K3M-P2XA /static/2ba0a60b7702/site.css internationalisation 200"
    assert masked(line) == line
