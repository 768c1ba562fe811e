"""The books: documents with editions, powders and stock, people, letters, lateness, export."""

import csv
import io
import zipfile
from copy import deepcopy
from datetime import date, timedelta
from zoneinfo import ZoneInfo

import pytest
import sqlalchemy as sa

from portal.orders import (
    books_audit,
    books_documents,
    books_export,
    books_late,
    books_letters,
    books_people,
    books_powders,
    books_stations,
    signing_in,
    staff_sessions,
)
from portal.orders.errors import Already, Overtaken, Refused, Unknown
from portal.orders.moving import move_job
from portal.shop.moves import JobState, PartStage
from portal.shop.roles import Role
from portal.store.tables import Audit, Letter, StockMove
from tests.rows import a_job_row

SECRET = "seven brass hooks in a row"


@pytest.fixture
def wren(unit) -> int:
    return signing_in.add_person(unit, login="wren", name="Wren", role=Role.OFFICE, password=SECRET)


def body_of(unit, kind="prices") -> dict:
    return deepcopy(dict(books_documents.document(unit, kind).body))


def put(unit, body, who, kind="prices", **more):
    seen = more.pop("seen", None) or books_documents.newest(unit, kind)
    return books_documents.put_document(unit, kind, body, seen=seen, who=who, **more)


def dearer(unit, price="50.00") -> dict:
    return body_of(unit) | {"minimum": price}


def minimum(unit, at=None) -> int:
    with unit.read() as session:
        return unit.shop(session, at).tariff.minimum


# documents


def test_a_new_price_counts_at_once_and_says_what_changed(unit, clock, wren) -> None:
    clock.advance(hours=1)
    before = minimum(unit)
    [change] = put(unit, dearer(unit), wren)
    assert (change.path, change.before, change.after) == ("minimum", "45.00", "50.00")
    assert minimum(unit) == 5000
    assert minimum(unit, clock.now() - timedelta(minutes=1)) == before
    told = books_documents.document(unit, "prices").history[0]
    assert (told.by, told.in_force) == ("Wren", True)


def test_a_price_from_a_later_day_counts_from_that_days_beginning(unit, clock, wren) -> None:
    put(unit, dearer(unit), wren, from_day=date(2026, 7, 1))
    assert minimum(unit) == 4500
    [later] = books_documents.document(unit, "prices").to_come
    # London is an hour ahead in summer: midnight there is 23:00 in UTC
    assert later.effective_from.isoformat() == "2026-06-30T23:00:00+00:00"
    clock.set(later.effective_from)
    assert minimum(unit) == 5000


def test_a_day_that_is_past_is_refused_beside_its_field(unit, wren) -> None:
    with pytest.raises(Refused) as told:
        put(unit, dearer(unit), wren, from_day=date(2026, 5, 1))
    assert told.value.key == "from_day"


def test_a_price_that_can_not_be_is_refused_with_its_key_and_nothing_is_saved(unit, wren) -> None:
    body = body_of(unit)
    body["wheels"]["bands"][1]["price"] = "cheap"
    before = books_documents.newest(unit, "prices")
    with pytest.raises(Refused) as told:
        put(unit, body, wren)
    assert told.value.key == "wheels.bands[1].price"
    assert books_documents.newest(unit, "prices") == before


def test_saving_without_a_change_is_told(unit, wren) -> None:
    with pytest.raises(Already):
        put(unit, body_of(unit), wren)


def test_two_who_edit_the_same_prices_are_told_of_each_other(unit, wren) -> None:
    seen = books_documents.newest(unit, "prices")
    put(unit, dearer(unit), wren, seen=seen)
    with pytest.raises(Overtaken, match=r"Wren.*minimum: 45\.00 → 50\.00"):
        put(unit, dearer(unit, "60.00"), wren, seen=seen)
    assert minimum(unit) == 5000


def test_what_the_office_changed_stands_in_the_audit(unit, wren) -> None:
    put(unit, dearer(unit), wren)
    deed = books_audit.deeds(unit)[0]
    assert (deed.by, deed.verb) == ("Wren", "put_prices")
    assert "minimum: 45.00 → 50.00" in deed.what


def test_an_unknown_document_is_not_there(unit) -> None:
    with pytest.raises(Unknown):
        books_documents.document(unit, "secrets")


def test_a_closure_takes_the_days_windows_away(unit, clock, wren) -> None:
    body = body_of(unit, "week")
    day = (clock.now() + timedelta(days=1)).date()
    body["closures"] = [*body["closures"], {"from": str(day), "to": str(day), "why": "Stocktake"}]
    put(unit, body, wren, kind="week")
    with unit.read() as session:
        week = unit.shop(session).week
    assert week.windows(day, 1) == ()
    assert "Stocktake" in str(week.shut_because(day))


# stations


def test_a_station_that_breaks_down_is_out_of_order_until_it_works_again(unit, clock, wren) -> None:
    start = clock.now().astimezone(ZoneInfo("Europe/London"))
    end = clock.now() + timedelta(days=2)
    books_stations.stop_station(unit, PartStage.BLAST, start, end, who=wren)
    [span] = books_stations.out_of_order(unit)
    assert (span.station, span.start, span.end) == (PartStage.BLAST, start, end)
    clock.advance(minutes=5)
    books_stations.start_station(unit, PartStage.BLAST, start, who=wren)
    assert books_stations.out_of_order(unit) == ()


@pytest.mark.parametrize("hours", [-1, 0, 24 * 100])
def test_a_breakdown_that_can_not_be_is_refused(unit, clock, wren, hours) -> None:
    end = clock.now() + timedelta(hours=hours)
    with pytest.raises(Refused) as told:
        books_stations.stop_station(unit, PartStage.BLAST, clock.now(), end, who=wren)
    assert told.value.key == "until"


# powders


def test_a_delivery_and_a_stocktake_move_the_stock_and_say_why(unit, wren) -> None:
    code = "R9005-G"
    before = books_powders.powder(unit, code).line.powder.stock_kg
    books_powders.delivery(unit, code, 20_000, who=wren)
    assert books_powders.powder(unit, code).line.powder.stock_kg == before + 20
    assert books_powders.stocktake(unit, code, 30_000, who=wren) == 30_000 - (before + 20) * 1000
    sheet = books_powders.powder(unit, code)
    assert sheet.line.powder.stock_kg == 30
    assert [move.why for move in sheet.moves[:2]] == ["stocktake", "delivery"]
    with unit.read() as session:
        moved = session.scalar(
            sa.select(sa.func.sum(StockMove.grams)).where(StockMove.powder_code == code)
        )
    assert moved == 30_000  # the stock is the sum of its movements


def test_a_powder_is_changed_and_a_stale_change_is_told(unit, wren) -> None:
    sheet = books_powders.powder(unit, "R9005-G")
    typed = sheet.figures | {"name": "Deep black"}
    books_powders.save_powder(unit, typed, seen=sheet.version, offered=True, who=wren)
    with pytest.raises(Overtaken):
        books_powders.save_powder(unit, typed, seen=sheet.version, offered=True, who=wren)
    with unit.read() as session:
        assert unit.shop(session).stock["R9005-G"].name == "Deep black"


def test_a_new_powder_can_be_chosen_and_one_not_offered_can_not(unit, wren) -> None:
    typed = books_powders.powder(unit, "R9005-G").figures | {"code": "NEW-1", "name": 'A "b", c'}
    books_powders.save_powder(unit, typed, seen=None, offered=True, who=wren)
    with unit.read() as session:
        assert unit.shop(session).stock["NEW-1"].name == 'A "b", c'
    with pytest.raises(Refused) as told:
        books_powders.save_powder(unit, typed, seen=None, offered=True, who=wren)
    assert told.value.key == "code"
    version = books_powders.powder(unit, "NEW-1").version
    books_powders.save_powder(unit, typed, seen=version, offered=False, who=wren)
    with unit.read() as session:
        assert "NEW-1" not in unit.shop(session).stock


@pytest.mark.parametrize(
    ("column", "value"), [("density", "9"), ("film_low_um", "500"), ("cure_c", "x"), ("effect", "")]
)
def test_a_figure_that_can_not_be_is_refused_by_its_column(unit, wren, column, value) -> None:
    typed = books_powders.powder(unit, "R9005-G").figures | {"code": "NEW-2", column: value}
    with pytest.raises(Refused) as told:
        books_powders.save_powder(unit, typed, seen=None, offered=True, who=wren)
    assert told.value.key == column


def test_a_powder_that_runs_out_is_marked(unit, wren) -> None:
    books_powders.stocktake(unit, "R9005-G", 5_000, who=wren)
    assert books_powders.powder(unit, "R9005-G").line.low


# people


def test_the_last_person_of_the_office_stays(unit, wren) -> None:
    for role, active in ((Role.COUNTER, True), (Role.OFFICE, False)):
        with pytest.raises(Refused):
            books_people.change_person(unit, wren, name="W", role=role, active=active, who=wren)


def test_whoever_leaves_is_signed_out(unit, wren) -> None:
    odd = signing_in.add_person(unit, login="odd", name="Odd", role=Role.FLOOR, password=SECRET)
    key = signing_in.sign_in(unit, "odd", SECRET, address="here").key
    books_people.change_person(unit, odd, name="Odd", role=Role.FLOOR, active=False, who=wren)
    assert staff_sessions.current(unit, key) is None


def test_a_new_role_counts_at_the_next_page(unit, wren) -> None:
    odd = signing_in.add_person(unit, login="odd", name="Odd", role=Role.FLOOR, password=SECRET)
    key = signing_in.sign_in(unit, "odd", SECRET, address="here").key
    books_people.change_person(unit, odd, name="Odd", role=Role.COUNTER, active=True, who=wren)
    assert staff_sessions.current(unit, key).may(Role.COUNTER)


def test_the_office_gives_a_new_password(unit, wren) -> None:
    odd = signing_in.add_person(unit, login="odd", name="Odd", role=Role.FLOOR, password=SECRET)
    books_people.new_password(unit, odd, "another row of brass hooks", who=wren)
    assert signing_in.sign_in(unit, "odd", "another row of brass hooks", address="here").key


def test_nothing_that_is_secret_stands_in_the_list_of_people(unit, wren) -> None:
    assert "argon2" not in repr(books_people.people(unit))


# letters


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
    assert books_letters.letters(unit)[0].subject == "Letter 1"
    assert books_letters.letter(unit, number).text == "Your wheels are ready."


def test_a_letter_that_was_given_up_is_sent_again_once(unit, wren) -> None:
    number = a_letter(unit)
    assert books_letters.not_sent(unit) == 1
    books_letters.send_again(unit, number, who=wren)
    assert books_letters.letters(unit, state="queued")[0].tries == 0
    with pytest.raises(Refused):
        books_letters.send_again(unit, number, who=wren)


def test_many_letters_come_page_by_page(unit) -> None:
    numbers = [a_letter(unit, n) for n in range(books_letters.A_PAGE + 3)]
    first = books_letters.letters(unit)
    assert len(first) == books_letters.A_PAGE
    rest = books_letters.letters(unit, before=first[-1].letter_id)
    assert [one.letter_id for one in rest] == numbers[2::-1]


# lateness


def test_a_job_whose_forecast_passes_its_promise_is_late_with_its_station(unit, clock) -> None:
    def work(session):
        for days, station in ((-2, "cure"), (1, "blast"), (3, "blast")):
            a_job_row(
                session,
                clock.now(),
                state=JobState.IN_WORK,
                promise_at=clock.now() + timedelta(days=5),
                forecast_at=clock.now() + timedelta(days=5 + days),
                forecast_station=station,
            )

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


# the record


def test_events_of_jobs_stand_beside_what_the_office_did(unit, clock, wren) -> None:
    job = unit.write(lambda s: a_job_row(s, unit.now()))
    clock.advance(minutes=1)
    unit.write(lambda s: move_job(s, job.id, "receive", at=unit.now(), who=wren, note="early"))
    deed = books_audit.deeds(unit, person_id=wren)[0]
    assert (deed.code, deed.by, deed.verb) == (job.code, "Wren", "receive")
    assert "booked → received early" in deed.what


# export


def test_every_table_can_be_taken_away_without_its_secrets(unit, wren) -> None:
    out = io.BytesIO()
    books_export.write_everything(unit, out, who=wren)
    with zipfile.ZipFile(out) as archive:
        names = {name.removesuffix(".csv") for name in archive.namelist()}
        people = list(csv.DictReader(io.TextIOWrapper(archive.open("person.csv"), "utf-8")))
    assert names == set(books_export.table_names())
    assert {"job", "part", "move", "powder", "payment", "letter", "book", "audit"} <= names
    assert not names & books_export.SECRET_TABLES
    assert people[0]["login"] == "wren"
    assert not set(people[0]) & {"password_hash", "pin_hash", "totp_secret"}
    with unit.read() as session:
        assert session.scalar(sa.select(sa.func.count()).where(Audit.verb == "export")) == 1


def test_a_name_that_a_spreadsheet_would_run_is_made_harmless(unit) -> None:
    unit.write(lambda s: a_job_row(s, unit.now(), name='=HYPERLINK("x")', phone="+441632960001"))
    [row] = csv.DictReader(io.StringIO("".join(books_export.csv_lines(unit, "job"))))
    assert row["name"] == '\'=HYPERLINK("x")'
    assert row["phone"] == "+441632960001"


def test_a_table_of_secrets_is_not_there(unit) -> None:
    with pytest.raises(Unknown):
        next(books_export.csv_lines(unit, "staff_session"))
