"""What we write: switched off and on behind the link, and at one press in a mail program."""

import pytest

from portal.orders.kernel.telling import telling
from portal.shop.states import LetterKind
from tests.factories import a_booked_job
from tests.web.hand import Hand


@pytest.fixture
def job(unit):
    return a_booked_job(unit)


def test_each_kind_has_a_box(client, unit, job) -> None:
    hand = Hand(client, f"/J/{job.token}/news")
    hand.send("/news", kinds=["ready", "finding"])
    assert hand.told == ["Saved."]
    off = telling(unit, job.token).off
    assert LetterKind.READY not in off
    assert {LetterKind.RECHECK, LetterKind.NEW_DATE} <= off


def test_one_press_of_a_mail_program_needs_no_token_and_does_nothing_else(
    app, client, unit, job
) -> None:
    bare = app.test_client()
    where = f"/J/{job.token}/news/ready"
    assert bare.post(where, data={"List-Unsubscribe": "Two"}).status_code == 400
    assert telling(unit, job.token).off == frozenset()
    assert bare.post(where, data={"List-Unsubscribe": "One-Click"}).status_code == 200
    assert telling(unit, job.token).off == {LetterKind.READY}
    # any other page of the link still asks for its token
    assert bare.post(f"/J/{job.token}/news", data={}).status_code == 400
    hand = Hand(client, f"/J/{job.token}/news/recheck")
    assert telling(unit, job.token).off == {LetterKind.READY}
    hand.send("/news/recheck")
    assert telling(unit, job.token).off == {LetterKind.READY, LetterKind.RECHECK}
    assert client.get(f"/J/{job.token}/news/contact_changed").status_code == 404
