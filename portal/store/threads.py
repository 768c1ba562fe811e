"""What a customer and the works write to each other about a job."""

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from portal.shop.states import ThreadKind
from portal.store.base import Base


class Thread(Base):
    """All that was written about a job in one matter: its questions, or what is wrong with it.

    `waits_since` is when the customer wrote what nobody has answered yet. A case has `closed_at`
    once it is settled; what the customer writes after that opens it again.
    """

    __tablename__ = "thread"
    __table_args__ = (sa.UniqueConstraint("job_id", "kind"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int] = mapped_column(sa.ForeignKey("job.id"))
    kind: Mapped[ThreadKind]
    opened_at: Mapped[datetime]
    waits_since: Mapped[datetime | None] = mapped_column(index=True)
    closed_at: Mapped[datetime | None]


class ThreadEntry(Base):
    """One entry of a thread. `ours` are by staff; those of the customer may have a photo.

    `said` is emptied when the customer is erased.
    """

    __tablename__ = "thread_entry"

    id: Mapped[int] = mapped_column(primary_key=True)
    thread_id: Mapped[int] = mapped_column(sa.ForeignKey("thread.id"), index=True)
    ours: Mapped[bool]
    said: Mapped[str] = mapped_column(sa.Text)
    at: Mapped[datetime]
    photo_id: Mapped[int | None] = mapped_column(sa.ForeignKey("photo.id"))
    person_id: Mapped[int | None] = mapped_column(sa.ForeignKey("person.id"))
