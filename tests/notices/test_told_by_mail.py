"""What customers are told, read back from a real mail server: words, headers, calendar files."""

from datetime import UTC, datetime, timedelta

import pytest

from portal.notices.outbox import deliver_due
from portal.notices.transport import wire_for
from portal.orders.counter.cancellation import call_off
from portal.orders.kernel.notifications import letter_new_date
from portal.orders.office.reminding import remind
from portal.store.tables import Job
from tests.factories import a_booked_job
from tests.notices.posting import Post, mail_server
from tests.orders.test_preparing import ON_TYRES

NOON = datetime(2026, 6, 2, 11, 0, tzinfo=UTC)


@pytest.fixture
def job(unit, clock):
    clock.set(NOON)
    return a_booked_job(unit, ON_TYRES, dropoff=timedelta(days=2))


def sent(unit):
    """Send what waits to a server of our own, and return what it got."""
    post = Post()
    with mail_server(post) as port:
        deliver_due(unit, wire_for(f"smtp://127.0.0.1:{port}"), mail_from="works@example.com")
    return post.got


def calendar(message) -> tuple[str, str]:
    (file,) = message.iter_attachments()
    return file.get_param("method"), file.get_content()


def test_the_reminder_arrives_with_its_list_and_its_way_out(unit, job, clock) -> None:
    clock.set(NOON + timedelta(days=1))
    assert remind(unit) == 1
    (message,) = sent(unit)
    text = message.get_body(("plain",)).get_content()
    assert "- Tyre" in text.splitlines()
    assert f"/J/{job.token}/prepare" in text
    assert message["List-Unsubscribe"].endswith(f"/J/{job.token}/news/coming>")


def test_another_date_moves_the_tyre_shop_and_calling_off_takes_both_out(unit, job, clock) -> None:
    def later(session) -> None:
        row = session.get_one(Job, job.job_id)
        now_at = row.promise_at + timedelta(days=1)
        letter_new_date(unit, session, row, was_at=row.promise_at, now_at=now_at)

    unit.write(later)
    clock.advance(minutes=1)
    call_off(unit, job.job_id, "They wrote to us.", who=None)
    moved, off = sent(unit)
    method, file = calendar(moved)
    assert (method, file.count("BEGIN:VEVENT")) == ("PUBLISH", 1)
    assert f"UID:{job.code.lower()}-tyre-shop@" in file
    method, file = calendar(off)
    assert (method, file.count("METHOD:CANCEL"), file.count("STATUS:CANCELLED")) == ("CANCEL", 2, 2)
