"""Receipts and invoices follow the account: numbers without gaps, sums that agree, credit notes."""

from datetime import timedelta

import pytest
import sqlalchemy as sa

from portal.orders.counter import (
    cancellation,
    hand_back,
    hand_back_undo,
    payments,
    receipts,
    unfetched,
)
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.invoice_paper import paper_of
from portal.orders.kernel.invoice_rows import document_of
from portal.orders.kernel.issuing import issue_final
from portal.orders.kernel.ledger import account_of
from portal.orders.office import documents
from portal.orders.office.erasing import erase_customer
from portal.orders.office.retention import sweep
from portal.shop.invoicing.document import InvoiceKind, Party
from portal.shop.invoicing.sums import tax_on
from portal.shop.ledger import EntryKind
from portal.shop.route import PartStage
from portal.shop.states import PaymentMethod
from portal.store.tables import Billing, Invoice, InvoiceJob, Job, Person
from tests.cast import OFFICE, add_staff
from tests.factories import a_booked_job, a_job_at, a_token
from tests.orders.test_hand_back import all_of, give
from tests.readers import english

FIRM = Party(name="Halden Garage", street="1 Mill Road", city="Fennholt", country="GB")


@pytest.fixture
def ready(unit):
    job = a_job_at(unit, PartStage.DONE)
    hand_back.make_ready(unit, job.job_id, who=None)
    return job


def papers(unit, job):
    with unit.read() as session:
        query = sa.select(Invoice).join(InvoiceJob).where(InvoiceJob.job_id == job.job_id)
        found = session.scalars(query.order_by(Invoice.id)).all()
        return [(one, paper_of(session, one).document) for one in found]


def account(unit, job):
    with unit.read() as session:
        return account_of(session, job.job_id)


def pay(unit, job, minor, how=PaymentMethod.CARD):
    payments.take_payment(unit, job.job_id, minor, how, once_token=a_token(), who=None)


def give_back(unit, job, **over):
    give(unit, job, all_of(unit, job, bags=(), **over))


def charged(unit, job) -> int:
    """What the documents of the work say together."""
    with unit.read() as session:
        original = sa.orm.aliased(Invoice)
        final = (InvoiceKind.INVOICE, InvoiceKind.RECEIPT)
        query = (
            sa.select(sa.func.coalesce(sa.func.sum(InvoiceJob.amount_minor), 0))
            .join(Invoice, Invoice.id == InvoiceJob.invoice_id)
            .outerjoin(original, original.id == Invoice.cancels_id)
            .where(InvoiceJob.job_id == job.job_id)
            .where(sa.or_(Invoice.kind.in_(final), original.kind.in_(final)))
        )
        return int(session.scalar(query))


def test_a_payment_in_advance_has_its_receipt_with_the_tax_in_it(unit) -> None:
    job = a_booked_job(unit)
    pay(unit, job, 6000)
    ((row, document),) = papers(unit, job)
    assert row.kind is InvoiceKind.DEPOSIT
    assert document.number == "D2026-0001"
    assert (document.charged, document.net, document.tax) == (6000, 5000, 1000)
    assert document.due == 0
    assert document.supplied_on is None


def test_the_hand_back_issues_the_whole_receipt_less_what_was_paid_in_advance(unit, ready) -> None:
    pay(unit, ready, 6000)
    give_back(unit, ready)
    (_, deposit), (row, receipt) = papers(unit, ready)
    total = account(unit, ready).total.minor
    assert row.kind is InvoiceKind.RECEIPT
    assert receipt.charged == total == row.charged_minor
    assert [one.number for one in receipt.set_off] == [deposit.number]
    assert receipt.set_off[0].tax == deposit.tax
    assert receipt.prepaid == total
    assert receipt.due == 0
    assert sum(line.net for line in receipt.lines) == receipt.net
    assert receipt.due_on is None


def test_a_firm_gets_an_invoice_in_its_name(unit, ready) -> None:
    receipts.make_out_to(unit, ready.job_id, FIRM, who=None)
    give_back(unit, ready, paid_minor=0, how=None, owing_because="pays by transfer")
    ((row, document),) = papers(unit, ready)
    assert row.kind is InvoiceKind.INVOICE
    with unit.read() as session:
        assert paper_of(session, row).buyer == FIRM
    assert document.due == document.charged
    assert document.due_on == document.issued_on + timedelta(days=14)


def test_whom_it_is_made_out_to_is_changed_by_a_credit_note_and_a_new_one(unit, ready) -> None:
    give_back(unit, ready)
    with pytest.raises(Refused):
        receipts.make_out_to(unit, ready.job_id, FIRM, who=None)
    number = receipts.correct(
        unit, ready.job_id, FIRM, "wrong name", once_token=a_token(), who=None
    )
    (_, first), (_, credit), (_, second) = papers(unit, ready)
    assert second.number == number
    assert credit.kind is InvoiceKind.CREDIT_NOTE
    assert (credit.refers_to, credit.charged) == (first.number, first.charged)
    assert second.kind is InvoiceKind.INVOICE
    assert charged(unit, ready) == account(unit, ready).total.minor


def test_a_reversed_payment_takes_its_receipt_back(unit) -> None:
    job = a_booked_job(unit)
    pay(unit, job, 6000)
    entry = next(one for one in account(unit, job).entries if one.kind is EntryKind.PAYMENT)
    add_staff(unit)
    office = person_of(unit, OFFICE)
    payments.reverse(unit, job.job_id, entry.id, "typed twice", once_token=a_token(), who=office)
    (_, deposit), (_, credit) = papers(unit, job)
    assert credit.refers_to == deposit.number
    assert credit.charged == 6000


def test_goodwill_after_the_hand_back_is_a_credit_note_over_the_difference(unit, ready) -> None:
    give_back(unit, ready)
    payments.reduce(
        unit, ready.job_id, EntryKind.GOODWILL, 1999, "a run", once_token=a_token(), who=None
    )
    _, (_, credit) = papers(unit, ready)
    assert credit.charged == 1999
    assert charged(unit, ready) == account(unit, ready).total.minor


def test_a_cancelled_order_takes_back_the_receipt_of_its_payment(unit) -> None:
    job = a_booked_job(unit)
    pay(unit, job, 6000)
    cancellation.call_off(unit, job.job_id, "changed their mind", who=None)
    (_, deposit), (_, credit) = papers(unit, job)
    assert credit.refers_to == deposit.number


def test_a_shop_without_a_tax_number_gives_plain_receipts_and_the_counter_says_why(unit) -> None:
    put_invoicing(unit, {"seller": {"street": "4 Kiln Lane", "city": "Fennholt"}})
    job = a_booked_job(unit)
    pay(unit, job, 6000)
    ((_, document),) = papers(unit, job)
    assert not document.tax_shown
    told = [english(one) for one in receipts.receipts(unit, job.code).lacks]
    assert told == ["Enter the tax number. Until then, receipts show no tax and prove none."]


def test_a_series_begins_and_is_numbered_as_the_shop_says(unit) -> None:
    numbers = {"deposit": "A-", "renewal": "never", "digits": 6, "first": 41}
    put_invoicing(unit, {"numbers": numbers})
    job = a_booked_job(unit)
    pay(unit, job, 100)
    pay(unit, job, 100)
    assert [row.number for row, _ in papers(unit, job)] == ["A-000041", "A-000042"]


def put_invoicing(unit, body) -> None:
    put(unit, "invoicing", body)


def test_several_jobs_of_a_customer_are_one_invoice(unit) -> None:
    jobs = [a_booked_job(unit) for _ in range(2)]
    pay(unit, jobs[0], 6000)

    def together(session):
        rows = [session.get(Job, one.job_id) for one in jobs]
        return issue_final(unit, session, rows, who=None).id

    number = unit.write(together)
    with unit.read() as session:
        row = session.get(Invoice, number)
        document = document_of(row)
    total = sum(account(unit, job).total.minor for job in jobs)
    assert row.charged_minor == document.charged == total
    assert len(document.jobs) == 2
    assert document.due == total - 6000
    assert [charged(unit, job) for job in jobs] == [account(unit, j).total.minor for j in jobs]


def test_the_name_on_a_receipt_is_erased_and_that_on_an_invoice_is_kept(unit, ready) -> None:
    give_back(unit, ready)
    erase_customer(unit, ready.code)
    ((row, _),) = papers(unit, ready)
    with unit.read() as session:
        assert paper_of(session, row).buyer.name == ""


def test_the_address_on_an_invoice_is_kept_as_long_as_the_law_wants(unit, clock, ready) -> None:
    receipts.make_out_to(unit, ready.job_id, FIRM, who=None)
    give_back(unit, ready)
    erase_customer(unit, ready.code)
    ((row, _),) = papers(unit, ready)
    with unit.read() as session:
        assert paper_of(session, row).buyer == FIRM
        assert session.scalar(sa.select(sa.func.count()).select_from(Billing)) == 0
    clock.advance(days=7 * 366)
    sweep(unit)
    with unit.read() as session:
        assert paper_of(session, row).buyer.name == ""


def test_numbers_run_without_gaps_in_each_series(unit) -> None:
    jobs = [a_booked_job(unit) for _ in range(3)]
    for job in jobs:
        pay(unit, job, 1000)
    with pytest.raises(payments.AboveOwed):
        pay(unit, jobs[0], 99_999_00)
    pay(unit, jobs[0], 500)
    with unit.read() as session:
        numbers = session.scalars(sa.select(Invoice.number).order_by(Invoice.id)).all()
    assert numbers == [f"D2026-{n:04}" for n in range(1, 5)]


def person_of(unit, who) -> int:
    with unit.read() as session:
        return session.scalars(sa.select(Person.id).where(Person.login == who.login)).one()


def test_a_hand_back_that_is_taken_back_takes_its_receipt_back(unit, ready) -> None:
    give_back(unit, ready)
    hand_back_undo.undo_hand_back(unit, ready.job_id, "the wrong customer", who=None, office=True)
    (_, receipt), (_, credit) = papers(unit, ready)
    assert credit.refers_to == receipt.number
    give_back(unit, ready)
    assert [row.kind for row, _ in papers(unit, ready)][2:] == [InvoiceKind.RECEIPT]
    assert charged(unit, ready) == account(unit, ready).total.minor


def test_what_nobody_fetches_is_charged(unit, clock, ready) -> None:
    clock.advance(days=400)
    unfetched.end_unfetched(unit, ready.job_id, "in the back room", who=None)
    ((row, document),) = papers(unit, ready)
    assert row.kind is InvoiceKind.RECEIPT
    assert document.due == account(unit, ready).owed.minor


@pytest.mark.parametrize("mode", ["exclusive", "inclusive"])
def test_where_sales_tax_is_due_at_the_sale_a_payment_in_advance_has_none(unit, mode) -> None:
    tax = {"mode": mode, "name": "Sales tax", "rates": [{"from": "2010-01-01", "percent": "8.25"}]}
    abroad(unit, "US", "USD", tax)
    job = a_job_at(unit, PartStage.DONE)
    hand_back.make_ready(unit, job.job_id, who=None)
    pay(unit, job, 6000)
    give_back(unit, job)
    (_, deposit), (_, receipt) = papers(unit, job)
    assert (deposit.tax, deposit.tax_shown) == (0, False)
    assert receipt.tax_name == "Sales tax"
    assert receipt.tax_shown
    assert receipt.tax == sum(tax_on(one.net, one.percent) for one in receipt.taxes)
    assert receipt.tax > 0
    assert receipt.charged == account(unit, job).total.minor
    if mode == "exclusive":  # the lines stand as they were listed, the tax comes to their sum
        assert [one.net for one in receipt.lines] == [one.listed for one in receipt.lines]
    assert receipts.receipts(unit, job.code).lacks == ()


def test_a_shop_without_tax_says_why_and_names_none(unit) -> None:
    abroad(unit, "DE", "EUR", {"mode": "none"})
    seller = {"street": "4 Kiln Lane", "city": "Fennholt", "no_tax_because": "Small business"}
    put_invoicing(unit, {"seller": seller})
    job = a_booked_job(unit)
    pay(unit, job, 6000)
    ((_, document),) = papers(unit, job)
    assert (document.tax, document.net, document.no_tax_because) == (0, 6000, "Small business")
    assert receipts.receipts(unit, job.code).lacks == ()


def abroad(unit, country: str, currency: str, tax) -> None:
    put(unit, "place", {**documents.document(unit, "place").body, "country": country})
    prices = documents.document(unit, "prices").body
    put(unit, "prices", {**prices, "currency": currency, "tax": tax})


def put(unit, kind: str, body) -> None:
    expected = documents.newest(unit, kind)
    documents.put_document(unit, kind, body, expected_edition_id=expected, who=None)
