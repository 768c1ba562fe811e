"""Who was erased stands nowhere any more: not in a row, and not in a byte of the files."""

import json
import re
import subprocess
import zipfile
from datetime import date
from io import BytesIO
from pathlib import Path

import pytest
import sqlalchemy as sa

from portal.cli.person_copy import write
from portal.notices.outbox import Delivered, deliver_due, queue
from portal.notices.transport import MemoryWire
from portal.orders.access.held_forms import hold_form
from portal.orders.intake import drafts
from portal.orders.kernel.errors import Unknown
from portal.orders.kernel.job_lock import record_event
from portal.orders.office.erasing import erase_customer
from portal.orders.office.person_data import person_data
from portal.orders.office.retention import sweep
from portal.render.reader import Reader
from portal.shop.invoicing.document import InvoiceKind
from portal.shop.moves import JobState
from portal.shop.states import LetterKind, LetterState, TellBy
from portal.shop.verbs import EventVerb
from portal.store.tables import (
    Base,
    Billing,
    Customer,
    Draft,
    Invoice,
    InvoiceBuyer,
    InvoiceJob,
    Job,
    JobNote,
    LedgerEntry,
    Letter,
)
from tests.conftest import HOUSE, build, chance, on_server, unit_at
from tests.deep import DEEP
from tests.factories import Booked, a_booked_job
from tests.notices.posting import resume
from tests.postgres import Cluster, running_cluster

NAME, MAIL, PHONE = "Robin Quillfeather", "robin.q@example.com", "+447700900456"
NEEDLES = re.compile(rb"quillfeather|robin\.q@example|7700 ?900 ?456", re.IGNORECASE)
PARTY = {"name": NAME, "country": "GB"}


@pytest.fixture
def jobs(unit) -> tuple[Booked, Booked]:
    return two_jobs(unit)


def two_jobs(unit) -> tuple[Booked, Booked]:
    """Two orders of one person, who stands in everything that can name somebody."""
    one, other = (a_booked_job(unit, name=NAME, phone=PHONE) for _ in range(2))
    token = drafts.begin(unit)

    def work(session) -> None:
        for job in (one, other):
            row = session.get_one(Job, job.job_id)
            row.customer.email = MAIL
            session.add(JobNote(job_id=row.id, note=f"Ask for {NAME}", at=unit.now()))
            row.collector, row.state = f"{NAME}'s brother", JobState.HANDED_BACK
            row.declared = {**row.declared, "note": f"Call {NAME}, 07700 900456"}
            record_event(
                session, row, EventVerb.CALLED, at=unit.now(), who=None, note=f"{NAME} was out"
            )
            session.add(Billing(customer_id=row.customer_id, party=PARTY))
            for number, job_id in enumerate((job.job_id, None)):
                queue(
                    session,
                    resume(unit.now()),
                    job_id=job_id,
                    cause=f"draft:{job.job_id}{number}",
                    to=MAIL,
                    at=unit.now(),
                    random_bytes=chance(job.job_id * 2 + number),
                )
            entry = sa.select(LedgerEntry).where(LedgerEntry.job_id == job.job_id)
            session.add(
                LedgerEntry(
                    job_id=job.job_id,
                    kind=session.scalars(entry).first().kind,
                    amount_minor=-100,
                    reason=f"{NAME} is a friend",
                    at=unit.now(),
                )
            )
        session.flush()
        session.execute(sa.update(Letter).values(text=f"Dear {NAME}", html=f"<p>{NAME}</p>"))
        draft = session.scalars(sa.select(Draft).where(Draft.token == token)).one()
        contact = {"name": [NAME], "email": [MAIL], "phone": [PHONE]}
        draft.answers = {"unsent": {"you": contact}}

    unit.write(work)
    hold_form(unit, "/counter/new", [("name", NAME), ("phone", "07700 900456")])
    return one, other


def rows(unit) -> bytes:
    with unit.read() as session:
        found = [session.execute(sa.select(table)).all() for table in Base.metadata.sorted_tables]
    return repr(found).encode()


def kept(unit, database: str) -> bytes:
    """The bytes of the embedded database's files; of a server all rows.

    Another process reads them: to close a file takes away the locks that SQLite has on it here.
    """
    if not database.startswith("sqlite"):
        return rows(unit)
    folder = Path(sa.make_url(database).database).parent
    files = [str(one) for one in folder.iterdir() if one.is_file()]
    return subprocess.run(["cat", *files], check=True, capture_output=True).stdout


@pytest.mark.postgres
def test_a_person_is_erased_from_all_their_jobs_drafts_letters_and_notes(unit, jobs) -> None:
    assert len(NEEDLES.findall(rows(unit))) > 20
    assert erase_customer(unit, jobs[1].code) == (jobs[0].code, jobs[1].code)
    assert NEEDLES.findall(rows(unit)) == []


@pytest.mark.postgres
def test_a_letter_to_who_was_erased_is_withdrawn_and_stops_no_other(unit, jobs) -> None:
    erase_customer(unit, MAIL.upper())
    wire = MemoryWire()
    assert deliver_due(unit, wire, mail_from="works@example.com") == Delivered()
    with pytest.raises(Unknown):
        erase_customer(unit, MAIL)


def test_no_byte_of_the_file_has_the_name_the_mail_or_the_telephone(unit, database, jobs) -> None:
    assert NEEDLES.search(kept(unit, database))
    erase_customer(unit, jobs[0].code)
    unit.wipe()
    assert NEEDLES.findall(kept(unit, database)) == []


# what the README lets who runs the server do after `erase`; sampled columns are read before it
SAMPLED = ("ANALYZE", "CHECKPOINT")
LOG_RENEWED = ("ALTER SYSTEM SET wal_recycle = off", "SELECT pg_reload_conf()")
LOG_ENDED = ("SELECT pg_switch_wal()", "CHECKPOINT", "CHECKPOINT")


@pytest.mark.skipif(not DEEP, reason="a server of its own; DEEP=1")
def test_no_byte_of_a_server_s_files_has_them_once_its_log_is_renewed(
    clock, shop_text, powders_text
) -> None:
    readme = (HOUSE / "README.md").read_text("utf-8")
    assert all(one in readme for one in LOG_RENEWED + LOG_ENDED)
    with running_cluster() as server:
        build(server.url, shop_text, powders_text)
        unit = unit_at(server.url, clock)
        run = lambda *lines: [on_server(server.url, one) for one in lines]  # noqa: E731
        jobs = two_jobs(unit)
        run(*SAMPLED)
        assert files_with_them(server, "base")
        erase_customer(unit, jobs[0].code)
        unit.wipe()
        run("CHECKPOINT")
        assert files_with_them(server, "base", "global") == []
        assert files_with_them(server, "pg_wal")
        run(*LOG_RENEWED, *LOG_ENDED)
        assert files_with_them(server, "") == []
        unit.close()


def files_with_them(server: Cluster, *folders: str) -> list[str]:
    files = (one for name in folders for one in (server.data / name).rglob("*") if one.is_file())
    return [one.name for one in files if NEEDLES.search(one.read_bytes())]


def test_the_buyer_of_an_invoice_is_kept_for_as_long_as_the_law_asks(
    unit, database, clock, jobs
) -> None:
    job = jobs[0]

    def invoice(session) -> None:
        paper = Invoice(
            number="R1",
            series="R",
            count=1,
            kind=next(iter(InvoiceKind)),
            issued_at=unit.now(),
            currency="GBP",
            net_minor=1,
            tax_minor=0,
            charged_minor=1,
            body={},
        )
        session.add(paper)
        session.flush()
        session.add(InvoiceJob(invoice_id=paper.id, job_id=job.job_id, amount_minor=1))
        until = date(2033, 1, 1)
        session.add(
            InvoiceBuyer(invoice_id=paper.id, party=PARTY, has_address=True, keep_until=until)
        )

    unit.write(invoice)
    erase_customer(unit, job.code)
    unit.wipe()
    assert len(NEEDLES.findall(kept(unit, database))) == 1
    clock.advance(days=8 * 365)
    sweep(unit)
    unit.wipe()
    assert NEEDLES.findall(kept(unit, database)) == []


def test_what_is_kept_of_a_person_is_one_archive_without_keys(unit, tmp_path, jobs) -> None:
    data = person_data(unit, MAIL)
    assert {"customer", "job", "part", "move", "letter", "job_note", "draft"} <= set(data.tables)
    assert len(data.tables["job"]) == 2
    target = tmp_path / "copy.zip"
    write(data, target, Reader())
    with zipfile.ZipFile(BytesIO(target.read_bytes())) as archive:
        text = archive.read("data.json").decode()
    assert json.loads(text)["customer"][0]["name"] == NAME
    assert not any(job.token in text or '"pickup_code"' in text for job in jobs)
    assert target.stat().st_mode & 0o077 == 0


def test_what_has_no_job_is_removed_in_its_time(unit, clock, jobs) -> None:
    def alone(session) -> None:
        session.execute(sa.update(Letter).values(kind=LetterKind.TEST, state=LetterState.SENT))
        session.add(Customer(name=NAME, email=MAIL, phone=PHONE, tell_by=TellBy.EMAIL))

    unit.write(alone)
    clock.advance(days=91)
    sweep(unit)
    with unit.read() as session:
        assert session.scalars(sa.select(Draft.id)).all() == []
        assert None not in session.scalars(sa.select(Letter.job_id)).all()
        assert len(session.scalars(sa.select(Customer.id)).all()) == 2
