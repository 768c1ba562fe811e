"""Text messages through a hook, against a server of our own that fails, stalls and repeats."""

import hashlib
import hmac
import json
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest
import sqlalchemy as sa

from portal.cli.mail_worker import deliver_texts
from portal.notices.text_messages import TextHook, signature
from portal.orders.kernel.notifications import letter_ready
from portal.orders.kernel.telling import choose
from portal.shop.states import Channel
from portal.shop.telling import CHOICES
from portal.store.tables import Job, Letter
from tests.factories import a_booked_job

KEY = "a key of the shop that nobody else knows"


@dataclass
class Service:
    """What the service got, and how it answers: by status, one after the other; 0 is a stall."""

    answers: list[int] = field(default_factory=list)
    got: list[tuple[dict[str, str], bytes]] = field(default_factory=list)


@contextmanager
def served(service: Service) -> Iterator[str]:
    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            service.got.append((dict(self.headers), body))
            status = service.answers.pop(0) if service.answers else 202
            if status == 0:
                time.sleep(1)
                return
            self.send_response(status)
            if status == 302:
                self.send_header("Location", "/elsewhere")
            self.send_header("Content-Length", "0")
            self.end_headers()

        def log_message(self, *_args: object) -> None:
            """Say nothing."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield f"http://127.0.0.1:{server.server_port}/send"
    finally:
        server.shutdown()
        server.server_close()


@pytest.fixture
def job(unit):
    made = a_booked_job(unit)
    choose(unit, made.token, set(CHOICES), by_text=True)
    unit.write(lambda s: letter_ready(unit, s, s.get_one(Job, made.job_id)))
    return made


def row(unit) -> Letter:
    with unit.read() as session:
        return session.scalars(sa.select(Letter).where(Letter.channel == Channel.TEXT)).one()


def hook(url: str) -> TextHook:
    return TextHook(url, KEY, timeout_s=0.3)


def test_a_text_is_short_signed_and_marked_so_that_it_counts_once(unit, job) -> None:
    service = Service()
    with served(service) as url:
        assert deliver_texts(unit, hook(url)).sent == 1
        assert deliver_texts(unit, hook(url)).sent == 0
    ((headers, body),) = service.got
    sent = json.loads(body)
    assert sent["to"] == "+447700900123"
    assert f"/J/{job.token}" in sent["text"]
    assert "pickup code" not in sent["text"].lower()
    assert headers["Idempotency-Key"] == sent["id"]
    assert headers["Portal-Signature"] == signature(KEY, int(unit.now().timestamp()), body)
    assert row(unit).state == "sent"


def test_the_signature_is_the_hmac_of_the_standard() -> None:
    # RFC 4231, test case 2: key "Jefe", data "what do ya want for nothing?"
    told = "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"
    assert hmac.new(b"Jefe", b"what do ya want for nothing?", hashlib.sha256).hexdigest() == told
    # the same function over our text, so that a changed byte or second is seen
    assert signature("Jefe", 1, b"x") != signature("Jefe", 2, b"x")
    assert signature("Jefe", 1, b"x") != signature("Jefe", 1, b"y")


@pytest.mark.parametrize("answer", [500, 503, 429])
def test_what_may_work_later_is_tried_again_under_the_same_name(unit, job, clock, answer) -> None:
    service = Service([answer])
    with served(service) as url:
        assert deliver_texts(unit, hook(url)).later == 1
        assert deliver_texts(unit, hook(url)).sent == 0
        clock.advance(minutes=2)
        assert deliver_texts(unit, hook(url)).sent == 1
    first, second = (headers["Idempotency-Key"] for headers, _ in service.got)
    assert first == second


@pytest.mark.parametrize("answer", [400, 401, 404, 302])
def test_what_is_refused_for_good_is_given_up_and_shown(unit, job, answer) -> None:
    with served(Service([answer])) as url:
        assert deliver_texts(unit, hook(url)).given_up == 1
    found = row(unit)
    assert (found.state, found.last_error.values["code"]) == ("given_up", answer)


def test_a_service_that_stalls_or_is_gone_holds_nothing_up_and_costs_no_try(
    unit, job, clock
) -> None:
    service = Service([0])
    with served(service) as url:
        done = deliver_texts(unit, hook(url))
    assert (done.later, done.down is not None) == (1, True)
    clock.advance(hours=1)
    assert deliver_texts(unit, hook(url)).down is not None
    assert row(unit).tries == 0
    with served(service) as url:
        clock.advance(hours=1)
        assert deliver_texts(unit, hook(url)).sent == 1


def test_without_a_hook_texts_wait_and_without_the_tick_there_are_none(unit, job, clock) -> None:
    assert deliver_texts(unit, TextHook("", "")).sent == 0
    assert row(unit).state == "queued"
    other = a_booked_job(unit, phone="+447700900188")
    unit.write(lambda s: letter_ready(unit, s, s.get_one(Job, other.job_id)))
    clock.advance(seconds=timedelta(minutes=1).seconds)
    assert row(unit).job_id == job.job_id
