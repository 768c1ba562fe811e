"""The outbox: a letter leaves once it is committed, once, and is never lost."""

import subprocess
import sys
import threading
from contextlib import suppress
from datetime import timedelta
from pathlib import Path

import pytest
import sqlalchemy as sa
from sqlalchemy.exc import IntegrityError

from portal.craft.messages import Message
from portal.notices import outbox
from portal.notices.letters import NotBrought
from portal.notices.outbox import MOST_TRIES, STALE, WAITS, Delivered, deliver_due, queue, try_again
from portal.notices.transport import ClosedWire, MemoryWire, Unsent
from portal.orders.kernel.errors import Busy
from portal.shop.states import LetterKind
from portal.store.letters import Letter
from tests.conftest import chance, unit_at
from tests.notices.posting import SENDER, put, resume, rows, states
from tests.rows import a_job_row

pytestmark = pytest.mark.postgres

FROM = "works@example.com"
HOUSE = Path(__file__).resolve().parents[2]


def deliver(unit, wire) -> Delivered:
    return deliver_due(unit, wire, mail_from=FROM)


class Broken(MemoryWire):
    """A wire that fails as it is told."""

    def __init__(self, wrong: Unsent) -> None:
        super().__init__()
        self.wrong = wrong
        self.tried = 0

    def send(self, message) -> None:
        self.tried += 1
        raise self.wrong


def test_a_queued_letter_is_sent_and_marked(unit) -> None:
    put(unit)
    wire = MemoryWire()
    assert deliver(unit, wire) == Delivered(sent=1)
    (row,) = rows(unit)
    assert (row.state, row.tries, row.sent_at) == ("sent", 1, unit.now())
    assert deliver(unit, wire) == Delivered()
    assert len(wire.sent) == 1


def test_a_message_says_that_it_is_automatic_and_carries_both_forms(unit) -> None:
    put(unit)
    wire = MemoryWire()
    deliver(unit, wire)
    (message,) = wire.sent
    (row,) = rows(unit)
    assert message["Auto-Submitted"] == "auto-generated"
    assert message["Message-ID"] == row.message_id
    assert row.message_id.endswith("@example.com>")
    assert (message["From"], message["To"]) == (FROM, "robin@example.com")
    assert [part.get_content_type() for part in message.iter_parts()] == ["text/plain", "text/html"]


def test_a_calendar_file_goes_along_as_published(unit) -> None:
    put(unit)

    def add(session) -> None:
        session.execute(sa.update(Letter).values(calendar="BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n"))

    unit.write(add)
    wire = MemoryWire()
    deliver(unit, wire)
    (file,) = wire.sent[0].iter_attachments()
    assert file.get_content_type() == "text/calendar"
    assert file["Content-Type"].params["method"] == "PUBLISH"
    assert file.get_payload(decode=True) == b"BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n"


def test_a_letter_of_a_transaction_that_fails_never_leaves(unit) -> None:
    def work(session) -> None:
        queue(
            session,
            resume(unit.now()),
            job_id=None,
            cause="x",
            to="robin@example.com",
            at=unit.now(),
            random_bytes=chance(),
        )
        raise RuntimeError

    with pytest.raises(RuntimeError):
        unit.write(work)
    wire = MemoryWire()
    deliver(unit, wire)
    assert wire.sent == []
    assert rows(unit) == []


@pytest.mark.parametrize("about_a_job", [True, False])
def test_queueing_one_cause_twice_is_quiet_and_sends_once(unit, about_a_job: bool) -> None:
    def work(session) -> list[bool]:
        job = a_job_row(session, unit.now()).id if about_a_job else None
        letter = NotBrought(
            sender=SENDER, locale="en", link="https://x", code="C", dropoff_at=unit.now()
        )
        again = {
            "job_id": job,
            "cause": "one",
            "to": "robin@example.com",
            "at": unit.now(),
            "random_bytes": chance(),
        }
        return [queue(session, letter, **again), queue(session, letter, **again)]

    assert unit.write(work) == [True, False]
    assert [row.kind for row in rows(unit)] == [LetterKind.NOT_BROUGHT]


def test_the_table_itself_refuses_a_second_letter_for_one_cause(unit) -> None:
    def twice(session) -> None:
        job = a_job_row(session, unit.now())
        for number in range(2):
            session.add(
                Letter(
                    job_id=job.id,
                    kind="ready",
                    cause="one",
                    to="r@example.com",
                    subject="s",
                    text="t",
                    html="h",
                    message_id=f"<{number}@example.com>",
                    state="queued",
                    next_at=unit.now(),
                    made_at=unit.now(),
                )
            )
        session.flush()

    with pytest.raises(IntegrityError):
        unit.write(twice)


def test_a_failed_letter_waits_longer_each_time_and_is_then_given_up(unit, clock) -> None:
    put(unit)
    wire = Broken(Unsent(Message("the server answered 451")))
    waited = []
    for _ in range(MOST_TRIES - 1):
        assert deliver(unit, wire) == Delivered(later=1)
        (row,) = rows(unit)
        waited.append(row.next_at - clock.now())
        clock.set(row.next_at - timedelta(seconds=1))
        assert deliver(unit, wire) == Delivered()  # not a second too early
        clock.advance(seconds=1)
    assert tuple(waited) == WAITS
    assert waited == sorted(waited)
    assert deliver(unit, wire) == Delivered(given_up=1)
    (row,) = rows(unit)
    assert (row.state, row.tries) == ("given_up", MOST_TRIES)
    assert row.last_error == Message("the server answered 451")
    clock.advance(days=30)
    assert deliver(unit, MemoryWire()) == Delivered()


def test_a_letter_to_a_box_that_does_not_exist_is_given_up_at_once(unit) -> None:
    put(unit)
    assert deliver(unit, Broken(Unsent(Message("550"), forever=True))) == Delivered(given_up=1)


def test_a_letter_that_was_given_up_can_be_sent_again_from_the_office(unit) -> None:
    put(unit)
    deliver(unit, Broken(Unsent(Message("550"), forever=True)))
    (row,) = rows(unit)
    assert unit.write(lambda session: try_again(session, row.id, unit.now())) is True
    wire = MemoryWire()
    assert deliver(unit, wire) == Delivered(sent=1)
    assert wire.sent[0]["Message-ID"] == row.message_id
    assert unit.write(lambda session: try_again(session, row.id, unit.now())) is False


def test_a_server_that_is_down_is_tried_once_a_round(unit) -> None:
    put(unit, 5)
    wire = Broken(Unsent(Message("ConnectionRefusedError"), down=True))
    assert deliver(unit, wire) == Delivered(later=1, down=Message("ConnectionRefusedError"))
    assert wire.tried == 1
    assert states(unit) == ["queued"] * 5


def test_nothing_is_given_up_for_a_server_that_is_down(unit, clock) -> None:
    put(unit, 3)
    for _ in range(4 * MOST_TRIES):
        deliver(unit, Broken(Unsent(Message("TimeoutError"), down=True)))
        clock.advance(hours=6)
    assert {(row.state, row.tries) for row in rows(unit)} == {("queued", 0)}
    wire = MemoryWire()
    assert deliver(unit, wire) == Delivered(sent=3)
    assert {message["Message-ID"] for message in wire.sent} == {r.message_id for r in rows(unit)}


def test_a_letter_over_which_the_server_hangs_up_does_not_hold_the_others(unit) -> None:
    put(unit, 3)
    first = rows(unit)[0].message_id

    class HangsUp(MemoryWire):
        def send(self, message) -> None:
            if message["Message-ID"] == first:
                raise Unsent(Message("SMTPServerDisconnected"), down=True)
            super().send(message)

    wire = HangsUp()
    deliver(unit, wire)
    deliver(unit, wire)
    assert states(unit) == ["queued", "sent", "sent"]


def test_an_address_that_no_header_can_hold_does_not_stop_the_others(unit) -> None:
    put(unit, to="robin@example.com\nBcc: everyone@example.com")
    put(unit, start=1)
    wire = MemoryWire()
    assert deliver(unit, wire) == Delivered(sent=1, given_up=1)
    assert states(unit) == ["given_up", "sent"]


def test_without_a_mail_server_letters_wait_untouched(unit) -> None:
    put(unit)
    assert deliver(unit, ClosedWire()) == Delivered()
    assert [(row.state, row.tries) for row in rows(unit)] == [("queued", 0)]


def test_the_oldest_letters_go_first_and_a_round_has_an_end(unit, clock) -> None:
    put(unit, 3)
    clock.advance(minutes=1)
    put(unit, 3, start=3)
    wire = MemoryWire()
    assert deliver_due(unit, wire, mail_from=FROM, most=4) == Delivered(sent=4)
    assert states(unit) == ["sent"] * 4 + ["queued"] * 2


DIES = """
import os, signal, sys
from portal.notices.outbox import deliver_due
from tests.conftest import Clock, unit_at

class Dies:
    open = True
    def send(self, message):
        os.kill(os.getpid(), signal.SIGKILL)

deliver_due(unit_at(sys.argv[1], Clock()), Dies(), mail_from="works@example.com")
"""


def test_a_worker_that_is_killed_between_claim_and_send_loses_no_letter(
    unit, database: str, clock
) -> None:
    put(unit, 3)
    done = subprocess.run([sys.executable, "-c", DIES, database], cwd=HOUSE, check=False)
    assert done.returncode == -9
    assert states(unit) == ["sending", "queued", "queued"]
    wire = MemoryWire()
    clock.advance(seconds=STALE.total_seconds())
    assert deliver(unit, wire) == Delivered(sent=2)  # the claim isn't stale yet
    clock.advance(seconds=1)
    assert deliver(unit, wire) == Delivered(sent=1)
    assert sorted(m["Message-ID"] for m in wire.sent) == sorted(r.message_id for r in rows(unit))


def test_a_letter_that_kills_every_worker_is_given_up(unit, clock) -> None:
    put(unit)
    for _ in range(MOST_TRIES):
        (row,) = rows(unit)
        assert unit.write(lambda s, row=row: outbox._claim(s, row.id, unit.now())) is not None
        clock.advance(seconds=STALE.total_seconds() + 1)
        unit.write(lambda s: outbox._give_back_stale(s, unit.now()))
    (row,) = rows(unit)
    assert (row.state, row.last_error) == ("given_up", None)


def race(database: str, clock, workers: int = 4) -> MemoryWire:
    """Let several workers deliver at the same moment, each with connections of its own."""
    wire, start = MemoryWire(), threading.Barrier(workers)

    def work() -> None:
        own = unit_at(database, clock)
        start.wait()
        for _ in range(5):
            with suppress(Busy):  # on a busy machine; the delivering process goes on as well
                deliver(own, wire)
                break
        own.close()

    threads = [threading.Thread(target=work) for _ in range(workers)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return wire


def test_many_workers_send_each_letter_once(unit, database: str, clock) -> None:
    put(unit, 20)
    wire = race(database, clock)
    assert len(wire.sent) == 20
    assert len({message["Message-ID"] for message in wire.sent}) == 20
    assert set(states(unit)) == {"sent"}


def test_without_the_guard_letters_would_leave_twice(
    unit, database: str, clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The control: the same race with the compare taken out of compare-and-set."""
    guarded = outbox._claim

    def unguarded(session, letter_id, now):
        session.execute(sa.update(Letter).where(Letter.id == letter_id).values(state="queued"))
        return guarded(session, letter_id, now)

    monkeypatch.setattr(outbox, "_claim", unguarded)
    for round_ in range(8):  # whether two workers meet is chance; that they never do is not
        put(unit, 20, start=20 * round_)
        if len(race(database, clock).sent) > 20:
            return
    pytest.fail("no letter left twice without the guard: the race is none")
