"""The mail worker: started again when it ends, and seen to be alive or not."""

import os
from itertools import pairwise

import pytest

from portal.cli.mail_worker import NAME, MailWorker, says
from portal.cli.running import FIRST_PAUSE_S, LONGEST_PAUSE_S, MailWorkerProcess
from portal.craft.messages import Message
from portal.notices.outbox import Delivered
from portal.notices.transport import MemoryWire, SmtpWire
from portal.orders.kernel.heartbeat import SILENT_AFTER, beat, mail_worker
from portal.store.sole_process import sole_process
from tests.notices.posting import free_port, put, states
from tests.readers import english


class Process:
    """A process that ends when it is told."""

    code: int | None = None

    def poll(self) -> int | None:
        return self.code


class Watched:
    """The process beside a server, on a clock of its own, and when it was started."""

    def __init__(self) -> None:
        self.now = 0
        self.begun: list[tuple[int, Process]] = []
        self.kept = MailWorkerProcess(self.start, clock=lambda: self.now)

    def start(self) -> Process:
        self.begun.append((self.now, Process()))
        return self.begun[-1][1]

    def look(self, seconds: int, *, ends: bool = False) -> None:
        for _ in range(seconds):
            self.kept.look()
            self.now += 1
            if ends:
                self.begun[-1][1].code = 1


def test_a_worker_that_keeps_ending_is_started_again_after_longer_and_longer_pauses() -> None:
    watched = Watched()
    watched.look(400, ends=True)
    starts = [at for at, _ in watched.begun]
    pauses = [after - before for before, after in pairwise(starts)]
    assert pauses == sorted(pauses)
    assert FIRST_PAUSE_S < pauses[0] < 5
    assert LONGEST_PAUSE_S <= pauses[-1] <= LONGEST_PAUSE_S + 1


def test_a_worker_that_lived_is_started_again_soon_and_one_that_lives_is_left() -> None:
    watched = Watched()
    watched.look(3 * LONGEST_PAUSE_S)
    assert len(watched.begun) == 1
    watched.begun[0][1].code = -9
    watched.look(FIRST_PAUSE_S + 1)
    assert len(watched.begun) == 2


def test_a_worker_that_never_was_or_stopped_is_silent(unit, clock) -> None:
    assert mail_worker(unit).silent
    beat(unit, trouble=None)
    assert not mail_worker(unit).silent
    clock.advance(seconds=SILENT_AFTER.total_seconds() + 1)
    assert mail_worker(unit).silent


@pytest.mark.postgres
def test_a_mail_server_that_is_down_is_told_until_it_takes_letters(unit, clock, settings) -> None:
    put(unit, 2)
    worker = MailWorker(unit, SmtpWire("127.0.0.1", free_port()), settings)
    worker.round()
    seen = mail_worker(unit)
    assert "ConnectionRefused" in english(seen.trouble)
    assert (seen.waiting, seen.silent, seen.given_up) == (2, False, 0)
    assert seen.oldest_at == clock.now()
    worker.wire = MemoryWire(open=False)
    worker.round()  # nothing is sent, so nothing more is known
    assert mail_worker(unit).trouble
    clock.advance(minutes=20)
    worker.wire = MemoryWire()
    worker.round()
    assert mail_worker(unit).trouble is None
    assert states(unit) == ["sent", "sent"]


def test_a_worker_whose_server_ended_before_it_was_ready_ends_as_well(unit, settings) -> None:
    put(unit)
    worker = MailWorker(unit, MemoryWire(), settings)
    worker.watch(sole_process(settings.database_url, "mail_worker"), server=os.getpid())
    assert states(unit) == ["queued"]


def test_what_fails_stops_nothing_else(unit, settings, monkeypatch: pytest.MonkeyPatch) -> None:
    put(unit)
    swept = []

    def fails(_unit) -> None:
        raise RuntimeError

    monkeypatch.setattr("portal.cli.mail_worker.reforecast_all", fails)
    monkeypatch.setattr("portal.cli.mail_worker.sweep", swept.append)
    MailWorker(unit, MemoryWire(), settings).round()
    assert states(unit) == ["sent"]
    assert swept


def test_deliver_says_what_it_did() -> None:
    done = Delivered(sent=3, later=1, given_up=1)
    assert english(says(done, open_wire=True)).startswith("Letters sent: 3; tried again later: 1")
    down = english(says(Delivered(later=1, down=Message("TimeoutError.")), open_wire=True))
    assert down.endswith("given up: 0. TimeoutError.")
    assert "PORTAL_SMTP" in english(says(Delivered(), open_wire=False))


@pytest.mark.postgres
def test_of_two_workers_one_sends_and_the_other_takes_over(unit, database, settings) -> None:
    wires = MemoryWire(), MemoryWire()
    workers = [MailWorker(unit, wire, settings) for wire in wires]
    turns = [sole_process(database, NAME) for _ in wires]
    put(unit, 2)
    for worker, turn in zip(workers, turns, strict=True):
        worker.round_in_turn(turn)
    assert [len(wire.sent) for wire in wires] == [2, 0]
    assert [worker.rounds for worker in workers] == [1, 0]
    put(unit, 3, start=2)
    turns[0].leave()  # as when its process ends
    workers[1].round_in_turn(turns[1])
    workers[0].round_in_turn(turns[0])
    assert [len(wire.sent) for wire in wires] == [2, 3]
    turns[1].leave()


def test_a_worker_that_cannot_ask_for_its_turn_goes_on_asking(unit, settings) -> None:
    worker = MailWorker(unit, MemoryWire(), settings)
    put(unit)
    worker.round_in_turn(sole_process("postgresql+psycopg://portal@127.0.0.1:1/none", NAME))
    assert (worker.rounds, states(unit)) == (0, ["queued"])
