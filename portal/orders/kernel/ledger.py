"""A job's account: the one place that reads it. `posting` adds to it.

`job.total_minor` is the price of the order, as its quote has it. What is charged, paid and owed is
the account's alone.
"""

from collections.abc import Collection, Iterable, Sequence
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.errors import Unknown
from portal.shop.ledger import CHARGED, Account, Balance, Entry, EntryKind
from portal.shop.money import Money
from portal.shop.moves import JobState
from portal.shop.states import PaymentMethod
from portal.store.jobs import Job
from portal.store.ledger import LedgerEntry

LONGEST_REASON = 300
# a column of the database holds no more
MOST_MINOR = 2_000_000_000


def _total_of(kinds: Iterable[EntryKind]) -> sa.ScalarSelect[int]:
    of_job = sa.select(sa.func.coalesce(sa.func.sum(LedgerEntry.amount_minor), 0)).where(
        LedgerEntry.job_id == Job.id, LedgerEntry.kind.in_(tuple(kinds))
    )
    return of_job.correlate(Job).scalar_subquery()


# columns of a query on jobs, in minor units: what is charged, and what of it is owed
TOTAL = _total_of(CHARGED).label("total_minor")
OWED = _total_of(EntryKind).label("owed_minor")
# what `balance_of` reads
BALANCE = (TOTAL, OWED, Job.deposit_minor, Job.currency, Job.firm_id)


# built once: building a statement costs more than running it
_OF_JOBS: sa.BindParameter[int] = sa.bindparam("job_ids", expanding=True)
_JOBS = sa.select(Job.id, Job.currency, Job.deposit_minor, Job.firm_id).where(Job.id.in_(_OF_JOBS))
_ENTRIES = (
    sa.select(
        *(LedgerEntry.job_id, LedgerEntry.id, LedgerEntry.kind, LedgerEntry.amount_minor),
        *(LedgerEntry.at, LedgerEntry.how, LedgerEntry.reason),
        *(LedgerEntry.finding_id, LedgerEntry.reverses_id, LedgerEntry.person_id),
    )
    .where(LedgerEntry.job_id.in_(_OF_JOBS))
    .order_by(LedgerEntry.at, LedgerEntry.id)
)


def balance_of(row: Any) -> Balance:
    """Return the balance of a job from a row of a query with the columns of `BALANCE`."""
    total, owed, deposit = (
        Money(minor, row.currency) for minor in (row.total_minor, row.owed_minor, row.deposit_minor)
    )
    return Balance(total, owed, deposit, monthly=row.firm_id is not None)


def account_of(session: Session, job_id: int) -> Account:
    """Return the account of a job; Unknown when there is none."""
    found = accounts_of(session, [job_id])
    if job_id not in found:
        raise Unknown(Message("We can't find this job."))
    return found[job_id]


def accounts_of(session: Session, job_ids: Collection[int]) -> dict[int, Account]:
    """Return the accounts of several jobs, by the job's number."""
    session.flush()
    which = {"job_ids": list(job_ids)}
    rows: dict[int, list[Any]] = {}
    for row in session.execute(_ENTRIES, which):
        rows.setdefault(row.job_id, []).append(row)
    return {
        job.id: Account(
            currency=job.currency,
            deposit=Money(job.deposit_minor, job.currency),
            entries=_entries(rows.get(job.id, ()), job.currency),
            monthly=job.firm_id is not None,
        )
        for job in session.execute(_JOBS, which)
    }


def _entries(rows: Sequence[Any], currency: str) -> tuple[Entry, ...]:
    return tuple(
        Entry(
            id=row.id,
            kind=row.kind,
            amount=Money(row.amount_minor, currency),
            at=row.at,
            how=row.how,
            reason=row.reason,
            finding_id=row.finding_id,
            reverses_id=row.reverses_id,
            person_id=row.person_id,
        )
        for row in rows
    )


def taken_since(session: Session, at: datetime) -> dict[PaymentMethod, int]:
    """Return what was taken since a moment, refunds and reversals off, by way, in minor units."""
    rows = session.execute(
        sa.select(LedgerEntry.how, -sa.func.sum(LedgerEntry.amount_minor))
        .where(LedgerEntry.at >= at, LedgerEntry.how.is_not(None))
        .group_by(LedgerEntry.how)
    )
    return {how: int(minor) for how, minor in rows if how and minor}


def owed_by(session: Session, states: Collection[JobState]) -> dict[JobState, list[int]]:
    """Return what each job in these states owes, in minor units; none that owes nothing."""
    owed = sa.func.sum(LedgerEntry.amount_minor)
    # added up first, from an index alone: of all jobs that ever were, few owe anything
    owing = sa.select(LedgerEntry.job_id, owed.label("minor")).group_by(LedgerEntry.job_id)
    few = owing.having(owed > 0).cte()
    rows = session.execute(
        sa.select(Job.state, few.c.minor)
        .join(few, few.c.job_id == Job.id)
        .where(Job.state.in_(states))
        .order_by(Job.id)
    )
    found: dict[JobState, list[int]] = {state: [] for state in states}
    for state, minor in rows:
        found[state].append(int(minor))
    return found
