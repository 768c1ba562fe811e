"""Letters, lateness, who did what, and everything to take away."""

import csv
import io
import zipfile
from datetime import timedelta

import pytest
import sqlalchemy as sa

from portal.orders.access import signing_in
from portal.orders.kernel.errors import Overtaken, Refused, Unknown
from portal.orders.kernel.transitions import move_job
from portal.orders.office import audit_view, export, letter_words
from portal.orders.office import late as books_late
from portal.shop.moves import JobState
from portal.shop.roles import Role
from portal.shop.route import PartStage
from portal.store.tables import Audit, Letter
from tests.readers import english
from tests.rows import a_job_row, foresee

pytestmark = pytest.mark.postgres

SECRET = "seven brass hooks in a row"


@pytest.fixture
def wren(unit) -> int:
    return signing_in.add_person(unit, login="wren", name="Wren", role=Role.OFFICE, password=SECRET)


def a_letter(unit, n=1, **over) -> int:
    values = {
        "kind": "ready", "cause": f"c{n}", "to": "robin@example.com", "subject": f"Letter {n}",
        "text": "Your wheels are ready.", "html": "", "message_id": f"<{n}@example.com>",
        "state": "given_up", "tries": 9, "next_at": unit.now(), "made_at": unit.now(),
    }  # fmt: skip

    def work(session):
        job = a_job_row(session, unit.now())
        row = Letter(**{**values, "job_id": job.id, **over})
        session.add(row)
        session.flush()
        return row.id

    return unit.write(work)


def test_letters_can_be_read(unit) -> None:
    number = a_letter(unit)
    assert letter_words.letters(unit)[0].subject == "Letter 1"
    assert letter_words.letter(unit, number).text == "Your wheels are ready."


def test_a_letter_that_was_given_up_is_sent_again_once(unit, wren) -> None:
    number = a_letter(unit)
    assert letter_words.not_sent(unit) == 1
    letter_words.send_again(unit, number, who=wren)
    assert letter_words.letters(unit, state="queued")[0].tries == 0
    with pytest.raises(Refused):
        letter_words.send_again(unit, number, who=wren)


def test_many_letters_come_page_by_page(unit) -> None:
    numbers = [a_letter(unit, n) for n in range(letter_words.A_PAGE + 3)]
    first = letter_words.letters(unit)
    assert len(first) == letter_words.A_PAGE
    rest = letter_words.letters(unit, before=first[-1].letter_id)
    assert [one.letter_id for one in rest] == numbers[2::-1]


def test_a_job_whose_forecast_passes_its_promise_is_late_with_its_station(unit, clock) -> None:
    def work(session):
        for days, station in ((-2, PartStage.CURE), (1, PartStage.BLAST), (3, PartStage.BLAST)):
            promise = clock.now() + timedelta(days=5)
            job = a_job_row(session, clock.now(), state=JobState.IN_WORK, promise_at=promise)
            foresee(session, job.id, promise + timedelta(days=days), station=station)

    unit.write(work)
    late = books_late.late_jobs(unit)
    assert [job.hours for job in late.lines] == [72, 24]
    assert late.by_station == ((PartStage.BLAST, 2),)
    assert late.open_jobs == 3


def test_a_promise_that_is_past_is_late_without_a_forecast(unit, clock) -> None:
    unit.write(
        lambda s: a_job_row(
            s, clock.now(), state=JobState.RECEIVED, promise_at=clock.now() - timedelta(hours=1)
        )
    )
    [job] = books_late.late_jobs(unit).lines
    assert job.overdue


def test_a_job_that_was_handed_back_is_never_late(unit, clock) -> None:
    unit.write(
        lambda s: a_job_row(
            s, clock.now(), state=JobState.HANDED_BACK, promise_at=clock.now() - timedelta(days=1)
        )
    )
    assert books_late.late_jobs(unit).lines == ()


def test_events_of_jobs_stand_beside_what_the_office_did(unit, clock, wren) -> None:
    job = unit.write(lambda s: a_job_row(s, unit.now()))
    clock.advance(minutes=1)
    unit.write(lambda s: move_job(s, job.id, "receive", at=unit.now(), who=wren, note="early"))
    deed = audit_view.audit_entries(unit, person_id=wren)[0]
    assert (deed.code, deed.by, deed.verb) == (job.code, "Wren", "receive")
    assert (deed.came_from, deed.went_to) == (JobState.BOOKED, JobState.RECEIVED)
    assert deed.what == "early"


def test_every_table_can_be_taken_away_without_its_secrets(unit, wren) -> None:
    out = io.BytesIO()
    export.write_everything(unit, out, english, who=wren)
    with zipfile.ZipFile(out) as archive:
        names = {name.removesuffix(".csv") for name in archive.namelist()}
        people = list(csv.DictReader(io.TextIOWrapper(archive.open("person.csv"), "utf-8")))
    assert names == set(export.table_names())
    assert {"job", "part", "move", "powder", "ledger_entry", "letter", "book", "audit"} <= names
    assert not names & export.SECRET_TABLES
    assert people[0]["login"] == "wren"
    assert not set(people[0]) & {"password_hash", "pin_hash", "totp_secret"}
    with unit.read() as session:
        assert session.scalar(sa.select(sa.func.count()).where(Audit.verb == "export")) == 1


def test_a_name_that_a_spreadsheet_would_run_is_made_harmless(unit) -> None:
    unit.write(lambda s: a_job_row(s, unit.now(), name='=HYPERLINK("x")', phone="+441632960001"))
    [row] = csv.DictReader(io.StringIO("".join(export.csv_lines(unit, "customer", english))))
    assert row["name"] == '\'=HYPERLINK("x")'
    assert row["phone"] == "+441632960001"


def test_a_table_of_secrets_is_not_there(unit) -> None:
    with pytest.raises(Unknown):
        next(export.csv_lines(unit, "staff_session", str))


def test_the_shops_own_words_stand_in_its_letters(unit, wren) -> None:
    own = {"ready": "Park behind the hall."}
    letter_words.put_letter_words(unit, own, expected_edition_id=0, who=wren)
    seen = {one.kind.value: one for one in letter_words.letter_words(unit)}
    assert "Park behind the hall." in seen["ready"].example
    assert "Park behind the hall." not in seen["booked"].example
    with unit.read() as session:
        assert unit.shop(session).letter_words == own


def test_two_who_edit_the_letters_are_told_of_each_other(unit, wren) -> None:
    letter_words.put_letter_words(unit, {"ready": "One."}, expected_edition_id=0, who=wren)
    with pytest.raises(Overtaken):
        letter_words.put_letter_words(unit, {"ready": "Two."}, expected_edition_id=0, who=wren)
