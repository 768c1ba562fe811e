"""Money at the counter and in the office: payments, reversals, refunds, discounts and goodwill."""

from datetime import timedelta

from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.errors import Refusal, Refused
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.issuing import (
    PAYMENT_REVERSED,
    REDUCED,
    follow_account,
    issue_for_payment,
)
from portal.orders.kernel.job_lock import lock_job
from portal.orders.kernel.ledger import account_of
from portal.orders.kernel.posting import post_payment, post_reduction, post_refund, post_reversal
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.ledger import Account, Entry, EntryKind
from portal.shop.money import Money
from portal.shop.roles import Role
from portal.shop.states import PaymentMethod
from portal.store.people import Person

# the person who recorded a payment can take it back for this long; later the office reverses it
TAKE_BACK_FOR = timedelta(minutes=15)


class AboveOwed(Refusal):
    """More was entered than is owed: the sum is asked back before it counts."""

    def __init__(self, paid: Money, owed: Money) -> None:
        super().__init__(
            Message(
                "You entered {paid}, but the customer owes {owed}. Correct the amount, or confirm "
                "below that you took {more} more.",
                paid=paid,
                owed=owed,
                more=paid - owed,
            ),
            key="amount",
        )
        self.paid = paid
        self.more = paid - owed


@transactional
@idempotent("pay")
def take_payment(  # noqa: PLR0913  # a payment has this many sides, all named
    unit: UnitOfWork,
    session: Session,
    job_id: int,
    amount_minor: int,
    how: PaymentMethod,
    *,
    confirmed_minor: int | None = None,
    once_token: str,  # taken by the decorator
    who: int | None,
) -> None:
    """Record a payment: a deposit, a finding that is paid at once, or what stayed open.

    Raise AboveOwed for more than is owed, unless exactly this sum was asked back and confirmed.
    """
    job = lock_job(session, job_id)
    owed = account_of(session, job_id).to_pay
    if amount_minor > owed.minor and amount_minor != confirmed_minor:
        raise AboveOwed(Money(amount_minor, job.currency), owed)

    entry_id = post_payment(unit, session, job, amount_minor, how, who=who)
    issue_for_payment(unit, session, job, entry_id, who=who)


@transactional
@idempotent("reverse")
def reverse(
    unit: UnitOfWork,
    session: Session,
    job_id: int,
    entry_id: int,
    reason: str,
    *,
    once_token: str,  # taken by the decorator
    who: int | None,
) -> None:
    """Reverse an entry of the account with its counter-entry.

    The office may always; who recorded a payment may for a quarter of an hour.
    """
    job = lock_job(session, job_id)
    entry = account_of(session, job_id).entry(entry_id)
    if not _is_office(session, who) and not (entry and is_own(entry, unit, who)):
        raise Refused(
            Message("You can take back your own payments for 15 minutes. Ask the office.")
        )

    post_reversal(unit, session, job, entry_id, reason, who=who)
    follow_account(unit, session, job, reason=PAYMENT_REVERSED, who=who)


@transactional
@idempotent("refund")
def refund(  # noqa: PLR0913  # a refund has this many sides, all named
    unit: UnitOfWork,
    session: Session,
    job_id: int,
    amount_minor: int,
    how: PaymentMethod,
    reason: str,
    *,
    once_token: str,  # taken by the decorator
    who: int | None,
) -> None:
    """Record money that was given back to the customer."""
    post_refund(unit, session, lock_job(session, job_id), amount_minor, how, reason, who=who)


@transactional
@idempotent("reduce")
def reduce(  # noqa: PLR0913  # a discount has this many sides, all named
    unit: UnitOfWork,
    session: Session,
    job_id: int,
    kind: EntryKind,
    amount_minor: int,
    reason: str,
    *,
    once_token: str,  # taken by the decorator
    who: int | None,
) -> None:
    """Take a sum off the price: a discount, or goodwill for what went wrong."""
    job = lock_job(session, job_id)
    post_reduction(unit, session, job, kind, amount_minor, reason, who=who)
    follow_account(unit, session, job, reason=REDUCED, who=who)


@read_only
def reversible(
    unit: UnitOfWork, session: Session, account: Account, *, who: int | None
) -> frozenset[int]:
    """Return the entries of an account that a person may reverse now."""
    office = _is_office(session, who)
    return frozenset(
        one.id
        for one in account.entries
        if account.can_reverse(one) and (office or is_own(one, unit, who))
    )


def is_own(entry: Entry, unit: UnitOfWork, who: int | None) -> bool:
    """Whether a payment was recorded by `who`, so lately that they may take it back."""
    own = entry.kind is EntryKind.PAYMENT and who is not None and entry.person_id == who
    return own and unit.now() - entry.at <= TAKE_BACK_FOR


def _is_office(session: Session, who: int | None) -> bool:
    person = session.get(Person, who) if who is not None else None
    return person is not None and person.role.covers(Role.OFFICE)
