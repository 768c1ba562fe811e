"""The page behind the link on which a browser switches messages on and off."""

import re

from portal.orders.kernel.push import mark_of, marks_of_browsers, public_push_key
from tests.factories import a_booked_job
from tests.notices.test_push import browser
from tests.web.hand import Hand

ENDPOINT = "https://push.example.com/a-browser"


def send(hand: Hand, endpoint: str, on: str) -> None:
    one = browser(endpoint)
    hand.send("/messages", endpoint=one.endpoint, p256dh=one.p256dh, auth=one.auth, on=on)


def test_a_browser_is_switched_on_and_off_by_what_it_tells_of_itself(client, unit) -> None:
    job = a_booked_job(unit)
    hand = Hand(client, f"/J/{job.token}/messages")
    page = client.get(f"/J/{job.token}/messages").get_data(as_text=True)
    assert f'data-key="{public_push_key(unit)}"' in page
    send(hand, ENDPOINT, "1")
    assert hand.told == ["This browser now shows messages about this order."]
    assert marks_of_browsers(unit, job.token) == (mark_of(ENDPOINT),)
    page = client.get(f"/J/{job.token}/messages").get_data(as_text=True)
    assert re.search(r'data-marks="([^"]*)"', page)[1] == mark_of(ENDPOINT)
    assert ENDPOINT not in page
    send(hand, ENDPOINT, "")
    assert hand.told == ["This browser shows no more messages about this order."]
    assert marks_of_browsers(unit, job.token) == ()


def test_an_address_of_the_own_network_is_refused_and_the_worker_is_open(client, unit) -> None:
    job = a_booked_job(unit)
    hand = Hand(client, f"/J/{job.token}/messages")
    send(hand, "https://127.0.0.1/x", "1")
    assert marks_of_browsers(unit, job.token) == ()
    worker = client.get("/push/worker.js")
    assert worker.status_code == 200
    assert worker.mimetype == "text/javascript"
    assert f'href="/J/{job.token}/messages"' in client.get(f"/J/{job.token}").get_data(as_text=True)
