"""Messages to browsers, against a push service of our own that fails, stalls and repeats.

What it gets is decrypted by http_ece, which knows RFC 8188 and 8291 by itself, and the signature is
checked with the public key alone, as RFC 8292 asks a service to do.
"""

import json
from base64 import urlsafe_b64decode, urlsafe_b64encode
from dataclasses import replace

import http_ece
import pytest
import sqlalchemy as sa
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from portal.cli.mail_worker import deliver_push
from portal.notices.push_addresses import is_public, is_push_address
from portal.notices.push_messages import Subscription
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.notifications import letter_ready
from portal.orders.kernel.push import (
    MOST_BROWSERS,
    marks_of_browsers,
    public_push_key,
    push_key,
    switch_off,
    switch_on,
)
from portal.orders.kernel.telling import choose
from portal.settings import read_settings
from portal.shop.states import Channel, LetterKind
from portal.shop.telling import CHOICES
from portal.store.tables import Job, Letter, PushSubscription
from tests.factories import a_booked_job
from tests.notices.test_text_messages import Service, served

SECRET = b"sixteen bytes of"
KEYS = ec.generate_private_key(ec.SECP256R1())
SETTINGS = replace(read_settings({}), push_local=True, mail_from="Works <works@example.com>")


def text(raw: bytes) -> str:
    return urlsafe_b64encode(raw).rstrip(b"=").decode()


def raw(word: str) -> bytes:
    return urlsafe_b64decode(word + "=" * (-len(word) % 4))


def browser(endpoint: str) -> Subscription:
    point = KEYS.public_key().public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)
    return Subscription(endpoint, text(point), text(SECRET))


@pytest.fixture
def job(unit):
    return a_booked_job(unit)


def news(unit, job) -> None:
    unit.write(lambda s: letter_ready(unit, s, s.get_one(Job, job.job_id)))


def row(unit) -> Letter:
    with unit.read() as session:
        return session.scalars(sa.select(Letter).where(Letter.channel == Channel.PUSH)).one()


def endpoints(unit) -> set[str]:
    with unit.read() as session:
        return set(session.scalars(sa.select(PushSubscription.endpoint)))


def opened(body: bytes) -> dict[str, str]:
    plain = http_ece.decrypt(body, private_key=KEYS, auth_secret=SECRET, version="aes128gcm")
    return json.loads(plain)


def claims(authorization: str, public_key: str) -> dict[str, object]:
    """Return what a service reads once the signature was checked; raise where it is not ours."""
    scheme, _, values = authorization.partition(" ")
    named = dict(one.strip().split("=", 1) for one in values.split(","))
    assert (scheme, named["k"]) == ("vapid", public_key)
    head, body, signature = named["t"].split(".")
    assert json.loads(raw(head))["alg"] == "ES256"
    r, s = raw(signature)[:32], raw(signature)[32:]
    key = ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), raw(named["k"]))
    signed = encode_dss_signature(int.from_bytes(r), int.from_bytes(s))
    key.verify(signed, f"{head}.{body}".encode(), ec.ECDSA(SHA256()))
    return json.loads(raw(body))


@pytest.mark.postgres
def test_a_browser_reads_what_it_is_about_and_the_service_nothing(unit, job) -> None:
    service = Service([201])
    with served(service) as url:
        switch_on(unit, job.token, browser(f"{url}/1"), local=True)
        news(unit, job)
        assert deliver_push(unit, SETTINGS).sent == 1
        assert deliver_push(unit, SETTINGS).sent == 0
    ((headers, body),) = service.got
    said = opened(body)
    assert (said["title"], said["body"]) == ("Fennholt Coating Works", "Ready")
    assert said["path"] == f"/J/{job.token}"
    readable = json.dumps(said | {"path": ""})
    for secret in ("Robin", job.code, job.pickup_code, "£", "0123"):
        assert secret not in readable
    assert (headers["Content-Encoding"], headers["Ttl"]) == ("aes128gcm", "86400")
    assert headers["Topic"] == said["tag"]
    told = claims(headers["Authorization"], public_push_key(unit))
    now_s = int(unit.now().timestamp())
    assert told["aud"] == url.removesuffix("/send")
    assert told["sub"] == "mailto:works@example.com"
    assert now_s < told["exp"] <= now_s + 24 * 3600  # RFC 8292, section 2
    assert row(unit).state == "sent"


def test_all_machines_over_one_database_have_one_key(unit) -> None:
    assert push_key(unit) == push_key(unit)
    assert len(raw(public_push_key(unit))) == 65


@pytest.mark.parametrize("answer", [500, 503, 429])
def test_what_may_work_later_is_tried_again_and_shown_once(unit, job, clock, answer) -> None:
    service = Service([answer])
    with served(service) as url:
        switch_on(unit, job.token, browser(url), local=True)
        news(unit, job)
        assert deliver_push(unit, SETTINGS).later == 1
        clock.advance(minutes=2)
        assert deliver_push(unit, SETTINGS).sent == 1
    first, second = (opened(body)["tag"] for _, body in service.got)
    assert first == second


def test_a_service_that_stalls_holds_no_other_up(unit, job, clock, monkeypatch) -> None:
    monkeypatch.setattr("portal.notices.push_messages.PushSender.timeout_s", 0.3, raising=False)
    other = a_booked_job(unit, phone="+447700900188")
    slow, quick = Service([0]), Service()
    with served(slow) as stalls, served(quick) as url:
        switch_on(unit, job.token, browser(stalls), local=True)
        switch_on(unit, other.token, browser(url), local=True)
        news(unit, job)
        news(unit, other)
        done = deliver_push(unit, SETTINGS)
    assert (done.sent, done.later, done.down) == (1, 1, None)


@pytest.mark.parametrize("answer", [404, 410])
def test_who_takes_no_more_is_forgotten_and_the_others_get_it(unit, job, answer) -> None:
    gone, there = Service([answer]), Service()
    with served(gone) as first, served(there) as second:
        switch_on(unit, job.token, browser(first), local=True)
        switch_on(unit, job.token, browser(second), local=True)
        news(unit, job)
        assert deliver_push(unit, SETTINGS).sent == 1
        assert endpoints(unit) == {second}
    assert len(there.got) == 1


def test_a_service_that_leads_elsewhere_is_not_followed(unit, job) -> None:
    service = Service([302])
    with served(service) as url:
        switch_on(unit, job.token, browser(url), local=True)
        news(unit, job)
        assert deliver_push(unit, SETTINGS).sent == 0
    assert len(service.got) == 1


def test_it_follows_the_choices_and_the_night(unit, job, clock) -> None:
    with served(Service()) as url:
        switch_on(unit, job.token, browser(url), local=True)
        choose(unit, job.token, set(CHOICES) - {LetterKind.READY}, by_text=False)
        news(unit, job)
        with unit.read() as session:
            kinds = session.scalars(sa.select(Letter.channel).where(Letter.kind == "ready")).all()
        assert kinds == [Channel.EMAIL]  # kept, as switched off
        choose(unit, job.token, set(CHOICES), by_text=False)
        switch_off(unit, job.token, url)
        assert marks_of_browsers(unit, job.token) == ()
        switch_on(unit, job.token, browser(url), local=True)
        clock.set(clock.now().replace(hour=23))
        unit.write(lambda s: s.execute(sa.delete(Letter)))
        news(unit, job)
        assert deliver_push(unit, SETTINGS).sent == 0
        clock.advance(hours=9)
        assert deliver_push(unit, SETTINGS).sent == 1


def test_a_job_has_few_browsers_and_the_oldest_makes_room(unit, job) -> None:
    for n in range(MOST_BROWSERS + 2):
        switch_on(unit, job.token, browser(f"https://push.example.com/{n}"))
    assert endpoints(unit) == {f"https://push.example.com/{n}" for n in range(2, 7)}


@pytest.mark.parametrize(
    "address",
    [
        "http://push.example.com/x",
        "https://127.0.0.1/x",
        "https://10.0.0.7/x",
        "https://169.254.169.254/latest",
        "https://[::1]/x",
        "https://[fd00::1]/x",
        "https://localhost/x",
        "https://push.example.com:8443/x",
        "https://robin@push.example.com/x",
        "ftp://push.example.com/x",
        "https://" + "x" * 600 + ".example.com",
    ],
)
def test_an_address_inside_the_network_is_refused(unit, job, address: str) -> None:
    assert not is_push_address(address)
    with pytest.raises(Refused):
        switch_on(unit, job.token, browser(address))


def test_a_name_that_leads_inside_is_not_asked(monkeypatch) -> None:
    where = {"push.example.com": "93.184.215.14", "inside.example.com": "192.168.0.7"}
    monkeypatch.setattr(
        "socket.getaddrinfo", lambda host, *_a, **_k: [(0, 0, 0, "", (where[host], 443))]
    )
    assert is_public("https://push.example.com/x")
    assert not is_public("https://inside.example.com/x")


@pytest.mark.parametrize(("p256dh", "auth"), [("", ""), ("AAAA", text(SECRET)), ("ä", "ä")])
def test_keys_that_are_none_are_refused(unit, job, p256dh: str, auth: str) -> None:
    with pytest.raises(Refused):
        switch_on(unit, job.token, Subscription("https://push.example.com/x", p256dh, auth))
