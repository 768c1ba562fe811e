"""Letters to be sent: queued in the caller's transaction, sent after the commit."""

from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from portal.craft.messages import Message
from portal.shop.states import Channel, LetterKind, LetterState
from portal.store.base import Base
from portal.store.types import MessageText


class Heartbeat(Base):
    """When a worker was last alive, and why its last round failed (None where it did not)."""

    __tablename__ = "heartbeat"

    name: Mapped[str] = mapped_column(sa.String(40), primary_key=True)
    at: Mapped[datetime]
    trouble: Mapped[Message | None] = mapped_column(MessageText)


class Letter(Base):
    """One letter, text message or message to browsers: one cause sends one in each channel.

    `unsubscribe` is where one press switches its kind off; empty where it can't be.
    """

    __tablename__ = "letter"
    __table_args__ = (
        sa.UniqueConstraint("job_id", "kind", "cause", "channel"),
        sa.Index("ix_letter_state_next", "state", "next_at"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int | None] = mapped_column(sa.ForeignKey("job.id"))
    kind: Mapped[LetterKind]
    cause: Mapped[str] = mapped_column(sa.String(60))
    to: Mapped[str] = mapped_column("recipient", sa.String(254))
    subject: Mapped[str] = mapped_column(sa.String(200))
    text: Mapped[str] = mapped_column(sa.Text)
    html: Mapped[str] = mapped_column(sa.Text)
    calendar: Mapped[str] = mapped_column(sa.Text, default="")
    message_id: Mapped[str] = mapped_column(sa.String(120), unique=True)
    state: Mapped[LetterState]
    tries: Mapped[int] = mapped_column(default=0)
    next_at: Mapped[datetime]
    claimed_at: Mapped[datetime | None]
    sent_at: Mapped[datetime | None]
    made_at: Mapped[datetime]
    last_error: Mapped[Message | None] = mapped_column(MessageText)
    channel: Mapped[Channel] = mapped_column(default=Channel.EMAIL)
    unsubscribe: Mapped[str] = mapped_column(sa.String(300), default="")


class TellingChoice(Base):
    """Of what the customer of a job wants no news (kinds of letters), and whether also by text."""

    __tablename__ = "telling_choice"

    job_id: Mapped[int] = mapped_column(sa.ForeignKey("job.id"), primary_key=True)
    off: Mapped[list[Any]] = mapped_column(default=list)
    by_text: Mapped[bool] = mapped_column(default=False)
