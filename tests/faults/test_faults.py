"""A short form of `make faults`: a few kills on each database; and the counting can fail."""

import random
import shutil
from collections import Counter
from collections.abc import Sequence
from email.message import EmailMessage
from pathlib import Path

import pytest

from portal.notices.transport import Unsent, wire_for
from portal.shop.ledger import EntryKind
from portal.store.tables import LedgerEntry
from tests.conftest import on_server
from tests.databases import named
from tests.deep import DEEP
from tests.factories import a_booked_job
from tests.faults.clients import Work
from tests.faults.counted import faults_of
from tests.faults.kills import kill_many
from tests.faults.post_office import Mood, PostOffice, post_office
from tests.faults.pressed import VERBS, Press, Pressed
from tests.faults.rows import Row, row_of
from tests.faults.scene import Scene, unit_for
from tests.faults.server import Portal

KILLS = 3 if DEEP else 2


@pytest.fixture(params=["SQLite", "PostgreSQL"])
def kind(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture
def shop_url(kind: str, request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The URL of a database with the shop in it, and nothing else."""
    if kind == "SQLite":
        model = request.getfixturevalue("sqlite_model")
        return f"sqlite:///{shutil.copy(model, tmp_path / 'portal.sqlite3')}"
    server, _ = (
        request.getfixturevalue("postgres_server"),
        request.getfixturevalue("postgres_database"),
    )
    on_server(server, "CREATE DATABASE faults TEMPLATE model")
    return named(server, "faults")


def test_what_was_acknowledged_is_there_once_after_kills(
    kind: str, shop_url: str, tmp_path: Path
) -> None:
    row = kill_many(kind, shop_url, tmp_path / "data", KILLS, seed=3)
    assert row.faults == []
    assert row.times == KILLS


def lose(pressed: Pressed, office: PostOffice) -> None:
    pressed.new(Press("pay", "ABCD", minor=5, acknowledged=True, tries=1))


def twice(pressed: Pressed, office: PostOffice) -> None:
    pressed.new(Press("scan", "scan-1", "101 coat", acknowledged=True, tries=1))


def never_wrote(pressed: Pressed, office: PostOffice) -> None:
    office.taken["<nobody@example.com>"] += 1


@pytest.mark.parametrize(
    ("spoil", "says"),
    [(lose, "payment ABCD"), (twice, "scan scan-1"), (never_wrote, "a letter came")],
)
def test_the_counting_can_fail(spoil, says: str, sqlite_model: Path) -> None:
    unit = unit_for(f"sqlite:///{sqlite_model}")
    pressed = Pressed()
    with post_office() as office:
        assert faults_of(unit, pressed, office) == []
        spoil(pressed, office)
        found = faults_of(unit, pressed, office)
    unit.close()
    assert len(found) == 1
    assert found[0].startswith(says)


def test_money_that_nobody_paid_is_found(unit) -> None:
    job = a_booked_job(unit)
    row = {"job_id": job.job_id, "kind": EntryKind.PAYMENT, "amount_minor": -7, "how": "cash"}
    unit.write(lambda s: s.add(LedgerEntry(**row, reason="", at=unit.now())))
    found = faults_of(unit, Pressed(), None)
    assert any("was never made" in one for one in found)
    assert any("has no document" in one for one in found)


def row_with(done: Sequence[str], times: int, folder: Path) -> Row:
    """Return the row of a run in which nothing went wrong and these verbs were acknowledged."""
    pressed = Pressed([Press(verb, "a key", acknowledged=True) for verb in done])
    portal, chance = Portal("sqlite://", folder), random.Random(1)
    with post_office() as office:
        return row_of(
            "killed", Scene("SQLite", portal, office, Work("", pressed), chance), times, []
        )


def test_what_nobody_did_is_not_proven(tmp_path: Path) -> None:
    assert row_with(VERBS, 1, tmp_path).holds
    for verb in VERBS:
        row = row_with([one for one in VERBS if one != verb], 1, tmp_path)
        assert row.faults == [f"{verb} was acknowledged to nobody"]
        assert not row.holds


def test_a_fault_that_never_came_is_not_proven(tmp_path: Path) -> None:
    assert not row_with(VERBS, 0, tmp_path).holds


def test_a_mail_server_has_its_moods() -> None:
    with post_office() as office:
        wire = wire_for(office.url)
        letter = EmailMessage()
        letter["Message-ID"], letter["To"] = "<a@example.com>", "robin@example.com"
        letter["From"] = "works@example.com"
        for mood in (Mood.TAKES, Mood.SLOW):
            office.mood = mood
            wire.send(letter)
        for mood in (Mood.REFUSES, Mood.LATER, Mood.DROPS, Mood.DROPS_LATE):
            office.mood = mood
            with pytest.raises(Unsent):
                wire.send(letter)
        assert office.taken == Counter({"<a@example.com>": 3})
