"""A filled database of an older form is carried to the newest and back, and nothing is lost."""

import importlib
from datetime import UTC, datetime

import pytest
import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.orders.kernel.ledger import account_of, accounts_of
from portal.orders.kernel.posting import Cause, post_price
from portal.shop.states import AnsweredHow, Arrival, FindingAnswer, TellBy
from portal.shop.verbs import AuditVerb, EventVerb
from portal.store import migrations
from portal.store.engine import make_engine
from portal.store.tables import (
    Audit,
    Base,
    Customer,
    Finding,
    HardwareBag,
    Job,
    JobForecast,
    Move,
    Part,
    StockMove,
)
from tests.readers import english
from tests.store.conftest import Forms
from tests.store.old_form import Rows, dump, load, old_rows

FORM = "0003"
# the form of the database that began to know its verbs; later ones add their own
FIRST_WORDS = importlib.import_module("portal.store.migrations.versions.0013_the_words_of_the_logs")
PAID_NO_WAY = (
    "INSERT INTO ledger_entry (job_id, kind, amount_minor, reason, at) "
    "VALUES (1, 'payment', -1, '', '2026-06-01 08:00')"
)
EATEN = (
    "INSERT INTO move (id, job_id, verb, from_state, to_state, at, note, data) "
    "SELECT id + 9000, job_id, 'eaten', from_state, to_state, at, note, data FROM move"
)
SOMEWHERE = (
    "INSERT INTO move (id, job_id, verb, from_state, to_state, at, note, data) "
    "SELECT id + 9000, job_id, verb, from_state, 'somewhere', at, note, data FROM move"
)
GUESSED = (
    "INSERT INTO part_check (job_id, part_id, kind, result, note, at) "
    "SELECT job_id, id, 'metal', 'gold', '', '2026-06-01 08:00' FROM part"
)
FLAGGED = sa.select(Job).where(Job.flag.is_not(None))


@pytest.fixture
def filled(forms: Forms) -> str:
    """The URL of a database of each kind that stands at the old form, with rows in every table."""
    return forms.like("old and filled", fill)


@pytest.fixture
def carried(forms: Forms) -> str:
    """The URL of a database of each kind that was filled at the old form and is at the newest."""

    def carry(url: str) -> None:
        fill(url)
        migrations.upgrade(url)

    return forms.like("old and carried over", carry)


@pytest.fixture
def back(forms: Forms, carried: str) -> str:
    """The URL of a database that was carried over and taken down to the old form again."""

    def return_to_old(url: str) -> None:
        migrations.downgrade(url, FORM)

    return forms.like("back at the old form", return_to_old, of="old and carried over")


def fill(url: str) -> None:
    migrations.upgrade(url, FORM)
    engine = make_engine(url)
    load(engine, old_rows())
    engine.dispose()


def rows_of(url: str) -> Rows:
    engine = make_engine(url)
    found = dump(engine)
    engine.dispose()
    return found


def test_the_old_rows_stand_in_every_table(filled: str) -> None:
    assert [table for table, rows in rows_of(filled).items() if not rows] == []


def test_up_and_down_again_loses_nothing(filled: str, back: str) -> None:
    before, after = rows_of(filled), rows_of(back)
    # two bags of a job had one label, which is no longer possible
    assert {bag["id"]: bag["label"] for bag in after.pop("hardware_bag")} == {
        **{bag["id"]: bag["label"] for bag in before.pop("hardware_bag")},
        **renamed_bags(),
    }
    for table in ("job", "part"):  # counters that nothing reads have begun again
        for row in (*before[table], *after[table]):
            del row["version"]
    assert after.keys() == before.keys()
    for table, rows in before.items():
        assert after[table] == rows, table


def renamed_bags() -> dict[int, str]:
    first, *_, again, _ = old_rows()["hardware_bag"]
    assert (first["job_id"], first["label"]) == (again["job_id"], again["label"])
    return {again["id"]: "B3"}


def test_every_row_can_be_read_by_the_tables(carried: str) -> None:
    counted = {table: len(rows) for table, rows in old_rows().items()}
    engine = make_engine(carried)
    with Session(engine) as session:
        for mapper in Base.registry.mappers:
            rows = session.scalars(sa.select(mapper)).all()
            table = mapper.class_.__tablename__
            if table in counted:
                assert len(rows) == counted[table]
    engine.dispose()


def test_what_had_no_word_has_one(carried: str) -> None:
    engine = make_engine(carried)
    with Session(engine) as session:
        assert set(session.scalars(sa.select(Part.arrived))) == set(Arrival)
        assert set(session.scalars(sa.select(Part.corner))) == {None}  # nobody was asked
        answered = session.execute(sa.select(Finding.answer, Finding.answered_how)).all()
        assert {tuple(row) for row in answered} == {
            (FindingAnswer.OPEN, None),
            (FindingAnswer.ACCEPTED, AnsweredHow.COUNTER),
            (FindingAnswer.DECLINED, AnsweredHow.LINK),
            (FindingAnswer.WITHDRAWN, AnsweredHow.COUNTER),
            (FindingAnswer.ACCEPTED, AnsweredHow.TOLD_BEFORE),
        }
        rushed = {row["id"] for row in old_rows()["job"] if row["declared"].get("rush")}
        assert set(session.scalars(sa.select(Job.id).where(Job.rush))) == rushed != set()
    engine.dispose()


def test_english_text_becomes_messages(carried: str) -> None:
    engine = make_engine(carried)
    with Session(engine) as session:
        flags = {row.flag.msgid: dict(row.flag.values) for row in session.scalars(FLAGGED)}
        assert flags == {
            "Missing from strip run {run}: tag {tags}": {"run": 2, "tags": "104, 106"},
            "Part {part} was found again: tell the customer": {"part": 3},
            "{text}": {"text": "Old words of a kind that no rule writes"},
        }
        names = [*session.scalars(sa.select(Job.summary)), *session.scalars(sa.select(Part.label))]
        old = {one.values["text"]: one for one in names if "text" in one.values}
        assert {text: english(one) for text, one in old.items()} == {t: t for t in old}
        assert old["Wheel 18 × 8"].values["p0"].msgid == "Wheel"
        assert old["Odd thing"].msgid == "{text}"
        assert old["4 × Wheels, Ember {bronze}; 2 × Brake calipers"].values["p1"].msgid == (
            "Brake calipers"
        )
        wordings = [one.says.msgid for one in session.scalars(sa.select(Finding))]
        assert len(set(wordings)) == 1 == len(set(wordings) - {"{text}"})
    engine.dispose()


def test_an_event_keeps_what_was_typed_apart_from_what_the_house_states(carried: str) -> None:
    engine = make_engine(carried)
    with Session(engine) as session:
        rows = session.scalars(sa.select(Move).order_by(Move.id)).all()
        of = {(row.verb, row.note): row for row in rows}
        assert of["written_off", "It fell from the rack."].says is None
        assert of["bag", "B1: 4 sensors, 20 bolts"].says is None
        assert ("reopened", "") in of
        assert ("arrived", "as_declared") not in of
        settled = {row.data.get("answer") for row in rows if row.verb == "settle"}
        assert {"accepted", "withdrawn"} <= settled
        stated = {row.says.msgid for row in rows if row.says is not None}
        assert stated >= {"{bag}: here", "{bag}: missing"}
        assert {row.note for row in rows if row.verb in ("settle", "pay", "finding")} == {""}
    engine.dispose()


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE part SET arrived = 'eaten'",
        "UPDATE finding SET answer = ''",
        "UPDATE letter SET state = 'flying'",
        "UPDATE job SET total_minor = -1",
        PAID_NO_WAY,
        "UPDATE hardware_bag SET label = 'B1'",
        "INSERT INTO audit (at, verb, what) VALUES ('2026-06-01 08:00', 'eaten', '')",
        EATEN,
        SOMEWHERE,
        GUESSED,
    ],
)
def test_what_the_house_does_not_know_is_refused(carried: str, statement: str) -> None:
    engine = make_engine(carried)
    with pytest.raises(sa.exc.IntegrityError), engine.begin() as connection:
        connection.exec_driver_sql(statement)
    engine.dispose()


def test_every_verb_that_was_ever_written_is_read(forms: Forms) -> None:
    url = forms.like("old with every verb", fill_with_verbs)
    migrations.upgrade(url)
    engine = make_engine(url)
    with Session(engine) as session:
        events = session.execute(sa.select(Move.verb, Move.note).where(Move.id > 9000)).all()
        office = session.execute(sa.select(Audit.verb, Audit.what).where(Audit.id > 9000)).all()
    engine.dispose()
    assert {verb for verb, _ in events} == {*map(EventVerb, FIRST_WORDS.EVENTS)}
    assert {verb for verb, _ in office} == {*map(AuditVerb, FIRST_WORDS.OFFICE)}
    for verb, rows in ((EventVerb.OTHER, events), (AuditVerb.OTHER, office)):
        assert [tuple(row) for row in rows if row[0] is verb] == [
            (verb, "hung_up: beside the door")
        ]


def fill_with_verbs(url: str) -> None:
    fill(url)
    engine = make_engine(url)
    found = sa.MetaData()
    found.reflect(engine)
    at = datetime(2026, 6, 1, 8, 0, tzinfo=UTC)
    move = {"job_id": 1, "from_state": "", "to_state": "", "at": at, "data": {}}
    with engine.begin() as connection:
        for table, verbs, beside, rest in (
            ("move", FIRST_WORDS.EVENTS, "note", move),
            ("audit", FIRST_WORDS.OFFICE, "what", {"at": at}),
        ):
            rows = [(verb, "") for verb in verbs if verb != "other"]
            rows.append(("hung_up", "beside the door"))
            connection.execute(
                sa.insert(found.tables[table]),
                [
                    {"id": 9001 + n, "verb": verb, beside: note, **rest}
                    for n, (verb, note) in enumerate(rows)
                ],
            )
    engine.dispose()


def test_what_is_only_added_stays_so(carried: str, back: str) -> None:
    for url in (carried, back):
        engine = make_engine(url)
        for table in ("move", "audit", "stock_move"):
            with (
                pytest.raises(sa.exc.DBAPIError, match="only ever added"),
                engine.begin() as connection,
            ):
                connection.exec_driver_sql(f"DELETE FROM {table}")
        engine.dispose()


def test_a_name_leaves_the_events_that_are_never_changed(carried: str) -> None:
    engine = make_engine(carried)
    with Session(engine) as session:
        (event,) = session.scalars(
            sa.select(Move).where(Move.verb == "hand_back", Move.says.is_not(None))
        )
        pieces = event.says.values.values()
        assert [(one.msgid, dict(one.values)) for one in pieces] == [
            ("without code: {reason}", {"reason": "their card was lost"}),
            ("owing: {reason}", {"reason": "pays by transfer"}),
        ]
        assert event.note == ""
        assert session.get_one(Job, event.job_id).collector == "Sam Sample"
    engine.dispose()


def test_the_person_and_the_forecast_of_a_job_stand_in_their_own_tables(carried: str) -> None:
    old = {row["id"]: row for row in old_rows()["job"]}
    engine = make_engine(carried)
    with Session(engine) as session:
        jobs = session.scalars(sa.select(Job)).all()
        assert {job.id: job.customer.email for job in jobs} == {
            n: r["email"] for n, r in old.items()
        }
        assert len({job.customer_id for job in jobs}) == len(old)
        forecasts = session.scalars(sa.select(JobForecast)).all()
        assert {row.job_id for row in forecasts} == {n for n, r in old.items() if r["forecast_at"]}
        assert {str(row.station) for row in forecasts} == {
            row["forecast_station"] for row in old.values() if row["forecast_at"]
        }
        # a new customer gets a number of its own
        who = Customer(name="New Sample", email="n@example.com", phone="", tell_by=TellBy.EMAIL)
        session.add(who)
        session.commit()
        assert who.id > max(old)
    engine.dispose()


def test_new_rows_can_be_added(carried: str) -> None:
    engine = make_engine(carried)
    with Session(engine) as session:
        job = session.scalars(sa.select(Job).limit(1)).one()
        session.add(HardwareBag(id=9001, job_id=job.id, label="B77", contents="a cap"))
        used = session.scalars(sa.select(StockMove).limit(1)).one()
        session.add(
            StockMove(id=9001, powder_code=used.powder_code, grams=1, why=used.why, at=used.at)
        )
        session.commit()
    engine.dispose()


def test_the_account_of_an_older_job_adds_up(carried: str) -> None:
    old = {row["id"]: row for row in old_rows()["job"]}
    engine = make_engine(carried)
    with Session(engine) as session:
        accounts = accounts_of(session, old.keys())
        for number, row in old.items():
            ended = row["state"] in ("called_off", "turned_away")
            owed = -row["paid_minor"] + (0 if ended else row["total_minor"])
            assert accounts[number].owed.minor == owed, number
            assert accounts[number].paid.minor == row["paid_minor"]
        with_findings = accounts[16]
        assert [entry.amount.minor for entry in with_findings.entries] == [39_400, 3_600, 3_600]
        assert {entry.finding_id for entry in with_findings.entries} == {None, 3, 6}
        # the numbers of the payments are kept, and the next entry gets one of its own
        assert {2, 102, 103} <= {entry.id for entry in accounts[1].entries}
        job = session.get_one(Job, 5)
        job.total_minor += 100
        post_price(session, job, Cause(job.booked_at, None))
        assert account_of(session, 5).total.minor == 33_100
    engine.dispose()
