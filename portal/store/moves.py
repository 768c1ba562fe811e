"""Events: what moved, when, by whom. Rows are only ever added (a trigger refuses the rest)."""

from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from portal.craft.messages import Message
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.shop.verbs import EventVerb
from portal.store.base import Base
from portal.store.types import MessageText, StateWord

IS_WAIT = sa.text("verb = 'wait'")


class Move(Base):
    """One event in the life of a job (`part_id` None) or of a part."""

    __tablename__ = "move"
    __table_args__ = (
        sa.Index("ix_move_job_at", "job_id", "at"),
        # few of millions: who had to wait for an answer
        sa.Index("ix_move_wait", "job_id", sqlite_where=IS_WAIT, postgresql_where=IS_WAIT),
        StateWord.known("from_state"),
        StateWord.known("to_state"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int] = mapped_column(sa.ForeignKey("job.id"))
    part_id: Mapped[int | None] = mapped_column(sa.ForeignKey("part.id"), index=True)
    verb: Mapped[EventVerb]
    from_: Mapped[JobState | PartStage | None] = mapped_column(
        "from_state", StateWord, nullable=False
    )
    to: Mapped[JobState | PartStage] = mapped_column("to_state", StateWord)
    at: Mapped[datetime] = mapped_column(index=True)
    person_id: Mapped[int | None] = mapped_column(sa.ForeignKey("person.id"))
    note: Mapped[str] = mapped_column(sa.String(400), default="")  # as somebody typed it
    # anything a later count needs: the scan's own id, the undone move's id, the load's id
    data: Mapped[dict[str, Any]] = mapped_column(default=dict)
    scan_id: Mapped[str | None] = mapped_column(sa.String(40), unique=True)
    # what the house states beside the verb
    says: Mapped[Message | None] = mapped_column(MessageText)
