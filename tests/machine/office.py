"""What the office does: trade customers with their months, and days on which the works is shut."""

from datetime import date, timedelta

import sqlalchemy as sa

from portal.orders.kernel.errors import Refusal
from portal.orders.office import documents, month_payments, monthly
from portal.orders.office.closures import put_week
from portal.shop.invoicing.document import InvoiceKind
from portal.shop.states import PaymentMethod
from portal.store.tables import FirmPayment, FirmPaymentEntry, Invoice, InvoiceJob, LedgerEntry
from tests.factories import a_booked_job, a_token
from tests.firms import a_firm
from tests.machine.base import Base
from tests.machine.counter import PAIR
from tests.machine.model import JobModel
from tests.orders.test_months_add_up import issued_to

REVERSED = sa.select(LedgerEntry.reverses_id).where(LedgerEntry.reverses_id.is_not(None))
OVER = ("handed_back", "not_fetched")


class InTheOffice(Base):
    """The office."""

    firm: int | None = None
    shut: frozenset[date] = frozenset()

    def a_firm_books(self, hours: int) -> JobModel:
        """The one firm sends two more wheels."""
        if self.firm is None:
            self.firm = a_firm(self.unit, prices={"percent_off": "12.5"})
        dropoff = timedelta(hours=hours)
        job = a_booked_job(self.unit, PAIR, dropoff=dropoff, firm_id=self.firm)
        one = self.new(job, placed=False)
        one.firm_id = self.firm
        return one

    def month_ends(self) -> None:
        """The month so far is billed: what the firm took home and was on no invoice."""
        if self.firm is None:
            return
        firm_id, month = self.firm, self._month()
        draft = monthly.month_draft(self.unit, firm_id, month)
        waits = sum(self._not_billed(one) for one in self.models if one.firm_id)
        assert draft.total.minor == waits
        self.touched, before = [one for one in self.models if one.firm_id], self.snapshot()
        press = self.twice(
            lambda token: monthly.issue(
                self.unit, firm_id, month, stamp=draft.stamp, once_token=token, who=self.who
            )
        )
        try:
            press()
        except Refusal:
            assert self.snapshot() == before
            assert not draft.lines
        else:
            self.said["month issued"] += 1

    def month_is_paid(self, minor: int) -> None:
        """The firm pays its newest invoice, or a part of it; what is open is the most."""
        if not (numbers := self._issued()):
            return
        before = self._owed()
        self.touched, unchanged = [one for one in self.models if one.firm_id], self.snapshot()
        try:
            month_payments.pay(
                self.unit,
                numbers[-1],
                minor,
                PaymentMethod.TRANSFER,
                once_token=a_token(),
                who=self.who,
            )
        except Refusal:
            assert self.snapshot() == unchanged
            return
        self.said["month paid"] += 1
        self._shares_of_newest()
        assert self._owed() == before - minor

    def month_is_unpaid(self) -> None:
        """A payment was entered by mistake: it is reversed on every account."""
        with self.unit.read() as session:
            newest = session.scalar(sa.select(sa.func.max(FirmPayment.id)))
        if newest is None:
            return
        stands = self._standing(newest)
        self.touched, before = [one for one in self.models if one.firm_id], self.snapshot()
        try:
            month_payments.reverse_payment(
                self.unit, newest, "a slip", once_token=a_token(), who=self.who
            )
        except Refusal:
            assert self.snapshot() == before
            assert not stands
            return
        self.said["month unpaid"] += 1
        for one in self.models:
            one.purse.received -= stands.get(one.job.job_id, 0)

    def month_is_cancelled(self, which: int) -> None:
        """An invoice was wrong: it is credited, and its jobs wait for the next one."""
        if not (numbers := self._issued()):
            return
        self.touched, before = [one for one in self.models if one.firm_id], self.snapshot()
        try:
            monthly.cancel(
                self.unit,
                numbers[which % len(numbers)],
                "wrong",
                once_token=a_token(),
                who=self.who,
            )
        except Refusal:
            assert self.snapshot() == before
        else:
            self.said["month cancelled"] += 1

    def is_shut(self, days: int) -> None:
        """A day is closed: nobody's state or money changes, and nobody is missed on it."""
        day = (self.clock.now() + timedelta(days=days)).date()
        if day in self.shut:
            return
        body = dict(documents.document(self.unit, "week").body)
        row = {"from": str(day), "to": str(day), "why": "Stocktake"}
        week = {**body, "closures": [*body.get("closures", []), row]}
        self.touched, before = list(self.models), self.snapshot()
        try:
            put_week(
                self.unit,
                week,
                expected_edition_id=documents.newest(self.unit, "week"),
                who=self.who,
            )
        except Refusal:
            assert self.snapshot() == before
            return
        self.shut |= {day}
        self.said["shut"] += 1

    def _month(self) -> date:
        with self.unit.read() as session:
            return self.unit.shop(session).day(self.unit.now()).replace(day=1)

    def _issued(self) -> list[str]:
        if self.firm is None:
            return []
        with self.unit.read() as session:
            return issued_to(session, self.firm)

    def open_of_newest(self) -> int:
        """Return what is open of the newest invoice, in minor units."""
        if not (numbers := self._issued()):
            return 0
        with self.unit.read() as session:
            invoice, _month = month_payments.found_invoice(session, numbers[-1])
            return sum(month_payments.open_of(session, invoice).values())

    def _owed(self) -> int:
        return sum(one.purse.owed for one in self.models)

    def _not_billed(self, one: JobModel) -> int:
        """What a job that went home costs, less what its invoices and credit notes say.

        A receipt of a payment in advance charges nothing: it is set off on the invoice.
        """
        ahead = sa.select(Invoice.id).where(Invoice.kind == InvoiceKind.DEPOSIT)
        of_work = sa.func.coalesce(Invoice.cancels_id, Invoice.id).not_in(ahead)
        said = (
            sa.select(sa.func.coalesce(sa.func.sum(InvoiceJob.amount_minor), 0))
            .join(Invoice, Invoice.id == InvoiceJob.invoice_id)
            .where(InvoiceJob.job_id == one.job.job_id, of_work)
        )
        with self.unit.read() as session:
            billed = session.scalar(said) or 0
        left = one.purse.price - one.purse.off - billed
        return max(0, left) if one.state in OVER else 0

    def _shares_of_newest(self) -> None:
        with self.unit.read() as session:
            newest = session.scalar(sa.select(sa.func.max(FirmPayment.id)))
        for job_id, minor in self._standing(newest or 0).items():
            for one in self.models:
                one.purse.received += minor if one.job.job_id == job_id else 0

    def _standing(self, payment_id: int) -> dict[int, int]:
        """Return what of a payment stands, by job: its entries that nobody has reversed."""
        query = (
            sa.select(LedgerEntry.job_id, -LedgerEntry.amount_minor)
            .join(FirmPaymentEntry, FirmPaymentEntry.entry_id == LedgerEntry.id)
            .where(FirmPaymentEntry.payment_id == payment_id)
            .where(LedgerEntry.id.not_in(REVERSED))
        )
        with self.unit.read() as session:
            return dict(session.execute(query).all())
