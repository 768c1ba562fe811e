"""Jobs, their parts, hardware bags, tags and findings."""

from datetime import date, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column, relationship

from portal.craft.corners import Corner
from portal.craft.messages import Message
from portal.craft.open_answers import Slow
from portal.craft.quantities import UnitSystem
from portal.shop.moves import JobState
from portal.shop.pricing.differences import DifferenceKind
from portal.shop.route import PartStage
from portal.shop.states import AnsweredHow, Arrival, FindingAnswer, TellBy
from portal.store.base import Base, not_negative
from portal.store.types import MessageText

ERASED = "—"  # the name of who was erased; nobody can give it


class Customer(Base):
    """Who orders, and how and in which language they are told. Erased in one place, orders.office.

    One person may have several orders. Who came to the counter may have left no e-mail address,
    or nothing but a name.
    """

    __tablename__ = "customer"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(sa.String(120), index=True)
    email: Mapped[str] = mapped_column(sa.String(254), index=True)
    phone: Mapped[str] = mapped_column(sa.String(24), index=True)  # E.164
    tell_by: Mapped[TellBy]
    locale: Mapped[str] = mapped_column(sa.String(8), default="en")
    # None: nothing was chosen, and those of the shop's country are taken
    units: Mapped[UnitSystem | None]

    @property
    def erased(self) -> bool:
        """Whether nothing tells any more who this was."""
        return self.name == ERASED


class Job(Base):
    """One order of one customer. `state` is changed only by orders.kernel.transitions."""

    __tablename__ = "job"
    __table_args__ = (
        sa.Index("ix_job_state_promise", "state", "promise_at"),
        sa.Index("ix_job_state_dropoff", "state", "dropoff_at"),
        # Find reads this narrow index from end to end instead of the wide rows; the id is in it so
        # that PostgreSQL need not look at the rows either
        sa.Index("ix_job_search", "search", "id"),
        not_negative("total_minor"),
        not_negative("deposit_minor"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    code: Mapped[str] = mapped_column(sa.String(12), unique=True)
    token: Mapped[str] = mapped_column(sa.String(32), unique=True)
    pickup_code: Mapped[str] = mapped_column(sa.String(8))
    state: Mapped[JobState] = mapped_column(index=True)
    booked_at: Mapped[datetime] = mapped_column(index=True)
    # what was declared (craft.declared JSON)
    declared: Mapped[dict[str, Any]]
    # what was ordered, in one line
    summary: Mapped[Message] = mapped_column(MessageText)
    quote: Mapped[dict[str, Any]]
    currency: Mapped[str] = mapped_column(sa.String(3))
    total_minor: Mapped[int]  # the price of the order; what is owed is the account's
    deposit_minor: Mapped[int] = mapped_column(default=0)
    vehicle: Mapped[str] = mapped_column(sa.String(120), default="")
    search: Mapped[str] = mapped_column(sa.Text, default="")  # lower-cased text for Find
    # when
    dropoff_at: Mapped[datetime]
    dropoff_until: Mapped[datetime]
    promise_at: Mapped[datetime]
    promised_first_at: Mapped[datetime] = mapped_column(index=True)
    received_at: Mapped[datetime | None]
    ready_at: Mapped[datetime | None] = mapped_column(index=True)
    handed_back_at: Mapped[datetime | None] = mapped_column(index=True)
    link_until: Mapped[datetime | None]
    # what staff must see at once, e.g. a tag missing from a strip run
    flag: Mapped[Message | None] = mapped_column(MessageText)
    calendar_sequence: Mapped[int] = mapped_column(default=0)
    # the earlier day that is expected unless what the customer didn't know is the slow case, and
    # which case that is (craft.open_answers.Slow)
    expected_at: Mapped[datetime | None]
    expected_unless: Mapped[Slow | None]
    rush: Mapped[bool] = mapped_column(default=False)  # goes before others, as was declared
    # what trade and shop said of what was declared (shop.assessment.stored); its price is `quote`
    assessed: Mapped[dict[str, Any] | None] = mapped_column(sa.JSON(none_as_null=True))
    customer_id: Mapped[int] = mapped_column(sa.ForeignKey("customer.id"), index=True)
    # the place on the shelf where the parts lie; empty where nobody has said so
    shelf: Mapped[str] = mapped_column(sa.String(8), default="")
    # the trade customer whose job it is; None of a private customer's
    firm_id: Mapped[int | None] = mapped_column(sa.ForeignKey("firm.id"), index=True)
    # who took the parts home in the customer's stead; erased with the customer
    collector: Mapped[str] = mapped_column(sa.String(120), default="")
    # the day by which the customer wants them back, where one was named
    needed_by: Mapped[date | None]
    # whom the customer named as somebody who may fetch them too; erased with the customer
    may_fetch: Mapped[str] = mapped_column(sa.String(120), default="")
    # when the customer means to come for them; what was chosen at the link
    pickup_at: Mapped[datetime | None]
    # the link of the record of the parts, which names nobody; None until it was asked for
    record_token: Mapped[str | None] = mapped_column(sa.String(32), unique=True)

    customer: Mapped[Customer] = relationship(lazy="joined", innerjoin=True)
    # written by planning.forecasting alone; whoever reads it joins it
    forecast: Mapped["JobForecast | None"] = relationship(lazy="raise", viewonly=True)


class JobForecast(Base):
    """When a job is expected to be ready, as the last forecast of the floor has it.

    `told_at` is the later date that its customer was told in place of the promise, `early_from` the
    day from which it is probably ready, where that is earlier. `watch` is what the rule of both
    remembers between two forecasts (shop.scheduling.date_letters).
    """

    __tablename__ = "forecast"

    job_id: Mapped[int] = mapped_column(sa.ForeignKey("job.id"), primary_key=True)
    safe_at: Mapped[datetime]
    likely_at: Mapped[datetime]
    station: Mapped[PartStage | None]  # what holds the job up
    made_at: Mapped[datetime]
    told_at: Mapped[datetime | None]
    early_from: Mapped[date | None]
    # it goes before customers who booked later and would make it late
    goes_first: Mapped[bool] = mapped_column(default=False)
    watch: Mapped[dict[str, Any]] = mapped_column(default=dict)


class Part(Base):
    """One physical part. `stage` is changed only by orders.kernel.transitions."""

    __tablename__ = "part"
    __table_args__ = (sa.UniqueConstraint("job_id", "number"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int] = mapped_column(sa.ForeignKey("job.id"), index=True)
    number: Mapped[int]  # 1… inside the job, as printed on the paper tag
    set_key: Mapped[str] = mapped_column(sa.String(8))
    label: Mapped[Message] = mapped_column(MessageText)  # what it is called
    stage: Mapped[PartStage] = mapped_column(index=True)
    coats: Mapped[int]  # planned
    coats_done: Mapped[int] = mapped_column(default=0)
    needs_strip: Mapped[bool]
    needs_refit: Mapped[bool]
    reworks: Mapped[int] = mapped_column(default=0)
    # the plan's figures, so that the floor and the forecast need not appraise again
    # (minutes per station, cure per coat, envelope, powders, masks)
    work: Mapped[dict[str, Any]]
    tag: Mapped[str | None] = mapped_column(sa.String(8), unique=True)  # number of the durable tag
    # identification stamp or cast date: a wheel goes back to the vehicle it came from
    stamp: Mapped[str] = mapped_column(sa.String(60), default="")
    arrived: Mapped[Arrival] = mapped_column(default=Arrival.UNCHECKED)
    stage_since: Mapped[datetime]
    # where a wheel sat on its vehicle; none of what was never asked
    corner: Mapped[Corner | None]


class Tag(Base):
    """A durable numbered tag that the shop owns; `retired` ones are lost or worn."""

    __tablename__ = "tag"

    number: Mapped[str] = mapped_column(sa.String(8), primary_key=True)
    retired: Mapped[bool] = mapped_column(default=False)


class HardwareBag(Base):
    """Small hardware that came with a job, bagged and labelled."""

    __tablename__ = "hardware_bag"
    __table_args__ = (sa.UniqueConstraint("job_id", "label"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int] = mapped_column(sa.ForeignKey("job.id"), index=True)
    label: Mapped[str] = mapped_column(sa.String(12))  # "B1"
    contents: Mapped[str] = mapped_column(sa.String(200))
    present: Mapped[bool] = mapped_column(default=True)
    # the question to the customer about its loss
    finding_id: Mapped[int | None] = mapped_column(sa.ForeignKey("finding.id"))


class JobNote(Base):
    """A note by staff for staff, at one station or at all; it goes with the customer's data."""

    __tablename__ = "job_note"

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int] = mapped_column(sa.ForeignKey("job.id"), index=True)
    stage: Mapped[PartStage | None]
    note: Mapped[str] = mapped_column(sa.String(400))
    at: Mapped[datetime]
    person_id: Mapped[int | None] = mapped_column(sa.ForeignKey("person.id"))


class Finding(Base):
    """Something that differs from what was declared, with its price line and the answer."""

    __tablename__ = "finding"

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int] = mapped_column(sa.ForeignKey("job.id"), index=True)
    part_id: Mapped[int | None] = mapped_column(sa.ForeignKey("part.id"), index=True)
    kind: Mapped[DifferenceKind]
    says: Mapped[Message] = mapped_column(MessageText)
    lines: Mapped[list[Any]]  # quote lines of the difference
    # what the set is instead, as craft.declared writes a set; applied when the answer is yes
    change: Mapped[dict[str, Any]] = mapped_column(default=dict)
    amount_minor: Mapped[int]
    days: Mapped[int] = mapped_column(default=0)
    photo_id: Mapped[int | None] = mapped_column(sa.ForeignKey("photo.id"))
    raised_at: Mapped[datetime]
    raised_by: Mapped[int | None] = mapped_column(sa.ForeignKey("person.id"))
    answer: Mapped[FindingAnswer] = mapped_column(default=FindingAnswer.OPEN)
    answered_at: Mapped[datetime | None]
    answered_how: Mapped[AnsweredHow | None]
