"""Questions that customers ask before they book, and what is remembered of a draft that ended."""

from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from portal.store.base import Base


class Question(Base):
    """One question about a draft, and its answer once there is one.

    It belongs to the draft, and to its job once the draft is booked. While `asked_at` is empty
    it is being written. `snapshot` is the order as it stood when the question was asked:
    {"declared": …, "saved": …, "step": …, "typed": [[label, value], …]}.
    """

    __tablename__ = "question"

    id: Mapped[int] = mapped_column(primary_key=True)
    draft_id: Mapped[int | None] = mapped_column(sa.ForeignKey("draft.id"), index=True)
    job_id: Mapped[int | None] = mapped_column(sa.ForeignKey("job.id"), index=True)
    photo_id: Mapped[int | None] = mapped_column(sa.ForeignKey("photo.id"))
    name: Mapped[str] = mapped_column(sa.String(120), default="")
    email: Mapped[str] = mapped_column(sa.String(254), default="")
    phone: Mapped[str] = mapped_column(sa.String(24), default="")
    locale: Mapped[str] = mapped_column(sa.String(8))
    text: Mapped[str] = mapped_column(sa.Text, default="")
    snapshot: Mapped[dict[str, Any]]
    draft_version: Mapped[int]
    asked_at: Mapped[datetime | None]
    answer: Mapped[str] = mapped_column(sa.Text, default="")
    by_letter: Mapped[bool] = mapped_column(default=False)  # else answered by phone, or closed
    answered_at: Mapped[datetime | None] = mapped_column(index=True)
    person_id: Mapped[int | None] = mapped_column(sa.ForeignKey("person.id"))


class EndedDraft(Base):
    """That a link once led to a draft, and when it ended; the link itself is not kept."""

    __tablename__ = "ended_draft"

    token_hash: Mapped[str] = mapped_column(sa.String(64), primary_key=True)  # SHA-256
    ended_at: Mapped[datetime] = mapped_column(index=True)
    booked: Mapped[bool]
