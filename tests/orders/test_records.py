"""Letters, lateness, who did what, and everything to take away."""

import csv
import io
import zipfile
from datetime import timedelta
from decimal import Decimal
from functools import partial

import pytest
import sqlalchemy as sa

from portal.orders.access import signing_in
from portal.orders.kernel.errors import Overtaken, Refused, Unknown
from portal.orders.kernel.heartbeat import mail_worker
from portal.orders.kernel.transitions import move_job
from portal.orders.office import audit_view, export, letter_words
from portal.orders.office import late as late_records
from portal.orders.office.export_heads import HEADS, TITLES
from portal.render.csv_file import csv_pieces
from portal.render.reader import Reader
from portal.shop.moves import JobState
from portal.shop.roles import Role
from portal.shop.route import PartStage
from portal.store.tables import Audit, Job, Letter, Person
from tests.factories import a_booked_job
from tests.readers import english
from tests.rows import a_job_row, forecast_of

ENGLISH = Reader()
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
    assert mail_worker(unit).given_up == 1
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
            forecast_of(session, job.id, promise + timedelta(days=days), station=station)

    unit.write(work)
    late = late_records.late_jobs(unit)
    assert [job.hours for job in late.lines] == [72, 24]
    assert late.by_station == ((PartStage.BLAST, 2),)
    assert late.open_jobs == 3


def test_a_promise_that_is_past_is_late_without_a_forecast(unit, clock) -> None:
    unit.write(
        lambda s: a_job_row(
            s, clock.now(), state=JobState.RECEIVED, promise_at=clock.now() - timedelta(hours=1)
        )
    )
    [job] = late_records.late_jobs(unit).lines
    assert job.overdue


def test_a_job_that_was_handed_back_is_never_late(unit, clock) -> None:
    unit.write(
        lambda s: a_job_row(
            s, clock.now(), state=JobState.HANDED_BACK, promise_at=clock.now() - timedelta(days=1)
        )
    )
    assert late_records.late_jobs(unit).lines == ()


def test_events_of_jobs_stand_beside_what_the_office_did(unit, clock, wren) -> None:
    job = unit.write(lambda s: a_job_row(s, unit.now()))
    clock.advance(minutes=1)
    unit.write(lambda s: move_job(s, job.id, "receive", at=unit.now(), who=wren, note="early"))
    deed = audit_view.audit_entries(unit, audit_view.Wanted(person_id=wren))[0]
    assert (deed.code, deed.by, deed.verb) == (job.code, "Wren", "receive")
    assert english(deed.says) == "Wren received the job."


def archived(unit, who: int, reader: Reader = ENGLISH) -> dict[str, str]:
    """Return every exported table as its text, by name."""
    out = io.BytesIO()
    export.write_everything(unit, out, partial(csv_pieces, reader=reader), who=who)
    with zipfile.ZipFile(out) as archive:
        return {
            name.removesuffix(".csv"): archive.read(name).decode("utf-8-sig")
            for name in archive.namelist()
        }


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_every_table_can_be_taken_away_without_its_secrets(unit, wren) -> None:
    tables = archived(unit, wren)
    assert tables.keys() == set(export.table_names())
    assert {
        "job",
        "part",
        "move",
        "powder",
        "ledger_entry",
        "letter",
        "book",
        "audit",
    } <= tables.keys()
    assert not tables.keys() & export.SECRET_TABLES
    people = rows_of(tables["person"])
    assert people[0]["Sign-in name"] == "wren"
    with unit.read() as session:
        secrets = session.execute(sa.select(Person.password_hash, Person.totp_secret)).one()
        assert session.scalar(sa.select(sa.func.count()).where(Audit.verb == "export")) == 1
    assert not [one for one in secrets if one and one in "".join(tables.values())]


def test_no_link_and_no_pickup_code_is_in_any_export(unit, wren) -> None:
    job = a_booked_job(unit)
    with unit.read() as session:
        row = session.get_one(Job, job.job_id)
        secrets = (row.token, row.pickup_code)
    told = f"https://example.com/status/{secrets[0]} {secrets[1]}"
    a_letter(unit, text=told, html=told, calendar=told)
    everything = "".join(archived(unit, wren).values())
    assert "Letter 1" in everything
    assert not [one for one in secrets if one in everything]


def test_a_sum_is_one_and_words_are_the_readers(unit, wren) -> None:
    a_booked_job(unit)
    with unit.read() as session:
        total = f"{Decimal(session.scalar(sa.select(Job.total_minor))) / 100:.2f}"
    [row] = rows_of(archived(unit, wren)["job"])
    assert row["Total"] == total
    assert row["State"] == "Booked"
    german = archived(unit, wren, Reader("de"))["job"]
    [row] = csv.DictReader(io.StringIO(german, newline=""), delimiter=";")
    assert row["Stand"] == "Gebucht"
    assert row["Gesamt"] == total.replace(".", ",")


def test_every_exported_column_has_its_head() -> None:
    columns = {one.name for name in export.table_names() for one in export.columns_of(name)}
    assert columns - HEADS.keys() == set(), "add them to orders/office/export_heads.py"
    assert HEADS.keys() - columns == set()
    assert TITLES.keys() == set(export.table_names())


def test_a_table_of_secrets_is_not_there(unit) -> None:
    with pytest.raises(Unknown):
        export.exported(unit, "staff_session")


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
