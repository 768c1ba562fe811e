"""A garage is billed at the month's end: draft, invoice, payments, credit notes; it adds up."""

from dataclasses import replace
from datetime import date

import pytest
import sqlalchemy as sa

from portal.orders.counter import hand_back, hand_back_undo, payments
from portal.orders.counter.hand_back import NotYet
from portal.orders.counter.on_account import firm_of_job
from portal.orders.kernel.errors import Already, Overtaken, Refused, Unknown
from portal.orders.kernel.ledger import account_of
from portal.orders.office import firms_view, month_payments, month_view, monthly
from portal.shop.invoicing.document import InvoiceKind
from portal.shop.invoicing.norm import structured
from portal.shop.ledger import EntryKind
from portal.shop.route import PartStage
from portal.shop.states import LetterKind, PaymentMethod
from portal.store.tables import Invoice, InvoiceJob, Job, Letter, Move, Person
from tests.cast import OFFICE, add_staff
from tests.factories import a_job_at, a_token
from tests.firms import a_firm
from tests.orders.test_hand_back import all_of, give
from tests.queries import queries_of
from tests.readers import english
from tests.shop.invoicing.norm_rules import broken_rules

CARD = PaymentMethod.TRANSFER


def collected(unit, firm_id, first_tag=101, **given):
    """A job of the firm that went home unpaid."""
    job = a_job_at(unit, PartStage.DONE, firm_id=firm_id, first_tag=first_tag)
    hand_back.make_ready(unit, job.job_id, who=None)
    give(unit, job, all_of(unit, job, bags=(), paid_minor=0, how=None, owing_because="", **given))
    return job


def month_of(unit) -> date:
    with unit.read() as session:
        return unit.shop(session).day(unit.now()).replace(day=1)


def issue(unit, firm_id) -> str:
    draft = monthly.month_draft(unit, firm_id, month_of(unit))
    return monthly.issue(
        unit, firm_id, draft.month, stamp=draft.stamp, once_token=a_token(), who=None
    )


def pay(unit, number, minor):
    month_payments.pay(unit, number, minor, CARD, once_token=a_token(), who=None)


def account(unit, job):
    with unit.read() as session:
        return account_of(session, job.job_id)


def papers(unit) -> list[Invoice]:
    with unit.read() as session:
        return list(session.scalars(sa.select(Invoice).order_by(Invoice.id)))


def keeps_the_norm(unit, number) -> None:
    """What was issued has a structured form, and it breaks no rule of EN 16931."""
    paper = month_view.paper_by_number(unit, number)
    assert paper.has_norm
    assert broken_rules(structured(paper.document, paper.buyer, english)) == []


def office_of(unit) -> int:
    add_staff(unit)
    with unit.read() as session:
        return session.scalar(sa.select(Person.id).where(Person.login == OFFICE.login))


def owed(unit) -> int:
    return sum(one.sum.minor for one in month_view.who_owes(unit))


@pytest.fixture
def firm_id(unit) -> int:
    return a_firm(unit, prices={"percent_off": "12.5"})


@pytest.mark.postgres
def test_a_month_is_one_invoice_over_every_job_and_its_payment_settles_each(unit, firm_id) -> None:
    first, second = collected(unit, firm_id), collected(unit, firm_id, 201)
    assert papers(unit) == []
    totals = [account(unit, job).total.minor for job in (first, second)]
    assert owed(unit) == sum(totals)
    number = issue(unit, firm_id)
    (row,) = papers(unit)
    assert (row.number, row.kind, row.charged_minor) == (number, InvoiceKind.INVOICE, sum(totals))
    paper = month_view.paper_by_number(unit, number)
    assert paper.buyer.name == "Halden Garage Ltd"
    keeps_the_norm(unit, number)
    assert len(paper.document.jobs) == 2
    assert paper.document.due == sum(totals)
    assert paper.document.net + paper.document.tax + paper.document.rounding == sum(totals)
    assert (paper.document.due_on - paper.document.issued_on).days == 30
    pay(unit, number, totals[0] + 1)
    assert account(unit, first).owed.minor == 0
    assert account(unit, second).owed.minor == totals[1] - 1
    assert owed(unit) == totals[1] - 1
    with pytest.raises(Refused):
        pay(unit, number, totals[1])
    pay(unit, number, totals[1] - 1)
    assert month_view.who_owes(unit) == ()
    with pytest.raises(Refused):
        issue(unit, firm_id)
    with unit.read() as session:
        kinds = list(session.scalars(sa.select(Letter.kind)))
    assert kinds.count(LetterKind.FIRM_INVOICE) == 1


def test_a_payment_is_reversed_on_every_account_that_it_went_to(unit, firm_id) -> None:
    jobs = collected(unit, firm_id), collected(unit, firm_id, 201)
    number = issue(unit, firm_id)
    before = owed(unit)
    pay(unit, number, before)
    (payment,) = month_view.firm_invoice(unit, number).payments
    assert payment.stands.minor == before
    month_payments.reverse_payment(
        unit, payment.payment_id, "wrong firm", once_token=a_token(), who=None
    )
    assert owed(unit) == before
    (payment,) = month_view.firm_invoice(unit, number).payments
    assert payment.stands.minor == 0
    with pytest.raises(Already):
        month_payments.reverse_payment(
            unit, payment.payment_id, "again", once_token=a_token(), who=None
        )
    assert all(account(unit, job).paid.minor == 0 for job in jobs)


def test_a_draft_that_has_changed_is_not_issued(unit, firm_id) -> None:
    job = collected(unit, firm_id)
    draft = monthly.month_draft(unit, firm_id, month_of(unit))
    payments.reduce(
        unit, job.job_id, EntryKind.DISCOUNT, 500, "scratch", once_token=a_token(), who=None
    )
    with pytest.raises(Overtaken):
        monthly.issue(unit, firm_id, draft.month, stamp=draft.stamp, once_token=a_token(), who=None)
    number = issue(unit, firm_id)
    assert month_view.paper_by_number(unit, number).document.due == draft.total.minor - 500


def test_what_changes_after_the_invoice_is_a_credit_note_or_stands_on_the_next(unit, firm_id):
    job = collected(unit, firm_id)
    issue(unit, firm_id)
    payments.reduce(
        unit, job.job_id, EntryKind.GOODWILL, 700, "late", once_token=a_token(), who=None
    )
    first, credit = papers(unit)
    assert (credit.kind, credit.cancels_id, credit.charged_minor) == (
        InvoiceKind.CREDIT_NOTE,
        first.id,
        700,
    )
    keeps_the_norm(unit, credit.number)
    entry = account(unit, job).open_reductions[0]
    office = office_of(unit)
    payments.reverse(unit, job.job_id, entry.id, "given twice", once_token=a_token(), who=office)
    # no third paper by itself: the 700 wait for the next invoice
    assert len(papers(unit)) == 2
    number = issue(unit, firm_id)
    assert papers(unit)[-1].charged_minor == 700
    keeps_the_norm(unit, number)
    assert month_view.paper_by_number(unit, number).document.lines[0].says.msgid.startswith("Work")


def test_a_cancelled_invoice_leaves_its_jobs_to_a_new_one(unit, firm_id) -> None:
    jobs = collected(unit, firm_id), collected(unit, firm_id, 201)
    number, total = issue(unit, firm_id), owed(unit)
    credit = monthly.cancel(unit, number, "wrong address", once_token=a_token(), who=None)
    assert papers(unit)[-1].number == credit
    assert papers(unit)[-1].charged_minor == total
    keeps_the_norm(unit, credit)
    with pytest.raises(Already):
        monthly.cancel(unit, number, "again", once_token=a_token(), who=None)
    again = issue(unit, firm_id)
    assert papers(unit)[-1].charged_minor == total
    assert owed(unit) == total
    pay(unit, again, total)
    assert all(account(unit, job).owed.minor == 0 for job in jobs)


def test_a_credit_note_over_the_rest_leaves_what_was_credited_before(unit, firm_id) -> None:
    first, _second = collected(unit, firm_id), collected(unit, firm_id, 201)
    number = issue(unit, firm_id)
    hand_back_undo.undo_hand_back(unit, first.job_id, "wrong car", who=None, office=True)
    monthly.cancel(unit, number, "all of it", once_token=a_token(), who=None)
    invoice, part, rest = papers(unit)
    assert part.charged_minor + rest.charged_minor == invoice.charged_minor
    keeps_the_norm(unit, part.number)
    keeps_the_norm(unit, rest.number)
    with unit.read() as session:
        shares = sa.select(sa.func.sum(InvoiceJob.amount_minor)).group_by(InvoiceJob.job_id)
        assert set(session.scalars(shares)) == {0}


def test_paid_at_the_counter_it_is_set_off_on_the_invoice(unit, firm_id) -> None:
    job = a_job_at(unit, PartStage.DONE, firm_id=firm_id)
    hand_back.make_ready(unit, job.job_id, who=None)
    total = account(unit, job).total.minor
    give(unit, job, all_of(unit, job, bags=(), paid_minor=5000, how=PaymentMethod.CASH))
    number = issue(unit, firm_id)
    document = month_view.paper_by_number(unit, number).document
    assert (document.charged, document.prepaid) == (total, 5000)
    keeps_the_norm(unit, number)
    assert month_view.firm_invoice(unit, number).line.open.minor == total - 5000


def test_beyond_its_limit_only_the_office_hands_back_unpaid_and_says_why(unit) -> None:
    firm_id = a_firm(unit, limit_minor=40_000)
    first = collected(unit, firm_id)
    second = a_job_at(unit, PartStage.DONE, firm_id=firm_id, first_tag=201)
    hand_back.make_ready(unit, second.job_id, who=None)
    found = firm_of_job(unit, second.job_id)
    assert found.over_at_hand_back
    assert found.over_at_door
    nothing = all_of(unit, second, bags=(), paid_minor=0, how=None, owing_because="")
    with pytest.raises(NotYet) as wrong:
        give(unit, second, nothing)
    assert wrong.value.key == "over_limit_because"
    because = replace(nothing, over_limit_because="pays on Friday")
    with pytest.raises(NotYet) as wrong:
        give(unit, second, because)
    assert wrong.value.key == "over_limit_because"
    office = office_of(unit)
    give(unit, second, because, who=office)
    with unit.read() as session:
        verbs = list(session.scalars(sa.select(Move.verb).where(Move.job_id == second.job_id)))
    assert "over_limit" in verbs
    assert account(unit, first).owed.minor + account(unit, second).owed.minor == owed(unit)


def test_another_firms_paper_cannot_be_had(unit, firm_id) -> None:
    collected(unit, firm_id)
    number = issue(unit, firm_id)
    other = a_firm(unit, name="Other Garage", email="other@example.com")
    assert month_view.paper_by_number(unit, number, firm_id=firm_id).document.number == number
    for wrong, of in ((number, other), ("R2026-9999", firm_id), ("", firm_id)):
        with pytest.raises(Unknown):
            month_view.paper_by_number(unit, wrong, firm_id=of)


def test_a_firm_is_reminded_of_what_is_overdue_once_a_day(unit, clock, firm_id) -> None:
    collected(unit, firm_id)
    number = issue(unit, firm_id)
    with pytest.raises(Refused):
        monthly.remind(unit, number, once_token=a_token(), who=None)
    clock.advance(days=31)
    (line,) = month_view.who_owes(unit)
    assert line.overdue
    monthly.remind(unit, number, once_token=a_token(), who=None)
    with pytest.raises(Already):
        monthly.remind(unit, number, once_token=a_token(), who=None)


def test_what_is_not_over_by_the_months_end_waits(unit, clock, firm_id) -> None:
    collected(unit, firm_id)
    this = month_of(unit)
    assert monthly.month_draft(unit, firm_id, this).lines
    before = (this.replace(day=1) - (date(2026, 2, 2) - date(2026, 2, 1))).replace(day=1)
    assert monthly.month_draft(unit, firm_id, before).lines == ()
    with unit.read() as session:
        assert session.scalar(sa.select(sa.func.count()).select_from(Job)) == 1


def test_what_firms_owe_is_read_in_as_many_queries_however_many_there_are(unit) -> None:
    number_of: list[int] = []
    for count in (1, 3):
        firm = a_firm(unit, name=f"Garage {count}", email=f"g{count}@example.com")
        for _ in range(count):
            collected(unit, firm)
            issue(unit, firm)
        collected(unit, firm)
        with queries_of(unit) as statements:
            lines = month_view.who_owes(unit)
            assert sum(one.credit.owed.minor for one in firms_view.firms(unit)) == sum(
                one.sum.minor for one in lines
            )
        number_of.append(len(statements))
    # the invoices of each firm, and what has none yet
    assert len(lines) == 1 + 1 + 3 + 1
    assert number_of[0] == number_of[1]
