"""The entries of the accounts of jobs. Rows are only ever added (a trigger refuses the rest)."""

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from portal.shop.ledger import EntryKind
from portal.shop.states import PaymentMethod
from portal.store.base import Base


class LedgerEntry(Base):
    """One sum of a job's account, in minor units: + is owed by the customer, − was paid or let off.

    `how` stands where money changed hands. An entry is reversed once at most.
    """

    __tablename__ = "ledger_entry"
    __table_args__ = (
        sa.CheckConstraint("amount_minor <> 0", name="amount_minor_not_zero"),
        sa.CheckConstraint(
            "(kind IN ('payment', 'refund')) = (how IS NOT NULL)", name="money_has_its_way"
        ),
        # what jobs owe is added up from this narrow index, from end to end
        sa.Index("ix_ledger_entry_job_amount", "job_id", "amount_minor"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int] = mapped_column(sa.ForeignKey("job.id"))
    kind: Mapped[EntryKind]
    amount_minor: Mapped[int]
    how: Mapped[PaymentMethod | None]
    reason: Mapped[str] = mapped_column(sa.String(300), default="")
    finding_id: Mapped[int | None] = mapped_column(sa.ForeignKey("finding.id"))
    reverses_id: Mapped[int | None] = mapped_column(sa.ForeignKey("ledger_entry.id"), unique=True)
    at: Mapped[datetime] = mapped_column(index=True)
    person_id: Mapped[int | None] = mapped_column(sa.ForeignKey("person.id"))
