"""Trade customers as other use cases meet them: who they are, their prices, what they owe."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft import reading
from portal.craft.messages import Message
from portal.orders.kernel.errors import Unknown
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.invoicing.document import Party
from portal.shop.money import Money
from portal.shop.moves import JobState
from portal.shop.pricing.firm_prices import (
    LIST_PRICES,
    FirmPrices,
    read_firm_prices,
    tariff_for,
)
from portal.shop.shop import Shop
from portal.store.jobs import Job
from portal.store.ledger import LedgerEntry
from portal.store.tables import Firm, FirmPrice

NO_FIRM = Message("We can't find this firm.")
# nothing is owed for what was not brought yet
EXPECTED = frozenset(one for one in JobState if one.is_expected)
# its parts are here, and stand for what it owes
IN_HOUSE = frozenset({JobState.RECEIVED, JobState.IN_WORK, JobState.WAITING, JobState.READY})
KINDS = ("owed", "in_house", "booked")


@dataclass(frozen=True, slots=True)
class FirmCredit:
    """What a firm owes for what it took home (`owed`), for what is here, and for what is booked."""

    owed: Money
    in_house: Money
    booked: Money
    limit: Money | None

    @property
    def room(self) -> Money | None:
        """What it may still owe; below zero, what it owes above its limit; None without one."""
        return None if self.limit is None else self.limit - self.owed

    @property
    def is_over(self) -> bool:
        """Whether it owes more than it may."""
        return self.takes_over(Money(0, self.owed.currency))

    def with_all(self, more: Money) -> Money:
        """Return what it will owe once all that is here and booked, and `more`, went out."""
        return self.owed + self.in_house + self.booked + more

    def takes_over(self, more: Money) -> bool:
        """Return whether `more` beside what it owes is above the limit."""
        return self.limit is not None and self.owed + more > self.limit


def firm_row(session: Session, firm_id: int) -> Firm:
    """Return a firm; raise Unknown where there is none."""
    firm = session.get(Firm, firm_id)
    if firm is None:
        raise Unknown(NO_FIRM)
    return firm


def party_of(firm: Firm) -> Party:
    """Return to whom a firm's invoices are made out."""
    return reading.read(Party, firm.party)


def firm_prices(session: Session, firm_id: int, on: date, currency: str) -> FirmPrices:
    """Return the prices that a firm has on a day; the list's, where nothing was agreed."""
    query = (
        sa.select(FirmPrice.body)
        .where(FirmPrice.firm_id == firm_id, FirmPrice.starts_on <= on)
        .order_by(FirmPrice.starts_on.desc(), FirmPrice.id.desc())
        .limit(1)
    )
    body = session.scalar(query)
    return LIST_PRICES if body is None else read_firm_prices(body, currency)


def shop_for_firm(
    unit: UnitOfWork, session: Session, firm_id: int | None, at: datetime | None = None
) -> Shop:
    """Return the shop with the prices of a firm, now or `at` a moment; None is everybody."""
    shop = unit.shop(session, at=at)
    if firm_id is None:
        return shop
    own = firm_prices(session, firm_id, shop.day(at or unit.now()), shop.currency)
    return replace(shop, tariff=tariff_for(shop.tariff, own))


def credit_of(session: Session, firm_id: int, currency: str) -> FirmCredit:
    """Return what a firm owes, and how much it may."""
    return credits_of(session, [firm_row(session, firm_id)], currency)[firm_id]


def credits_of(session: Session, firms: Sequence[Firm], currency: str) -> dict[int, FirmCredit]:
    """Return what each of these firms owes, by its number, in one query."""
    per_state = (
        sa.select(Job.firm_id, Job.state, sa.func.sum(LedgerEntry.amount_minor).label("minor"))
        .join(LedgerEntry, LedgerEntry.job_id == Job.id)
        .where(Job.firm_id.in_([one.id for one in firms]), Job.currency == currency)
        .group_by(Job.firm_id, Job.state)
    )
    found: dict[int, dict[str, int]] = {one.id: dict.fromkeys(KINDS, 0) for one in firms}
    for firm_id, state, minor in session.execute(per_state):
        if firm_id is not None and (kind := _kind(state)) is not None:
            found[firm_id][kind] += int(minor)
    return {one.id: _credit(found[one.id], one.limit_minor, currency) for one in firms}


def _kind(state: JobState) -> str | None:
    if state in IN_HOUSE:
        return "in_house"
    if state is JobState.BOOKED:
        return "booked"
    return None if state in EXPECTED else "owed"


def _credit(sums: dict[str, int], limit_minor: int | None, currency: str) -> FirmCredit:
    limit = None if limit_minor is None else Money(limit_minor, currency)
    return FirmCredit(limit=limit, **{kind: Money(sums[kind], currency) for kind in KINDS})
