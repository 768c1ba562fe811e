"""What was tested on a part, by whom, and what it showed. Rows are only ever added."""

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from portal.craft.check_kinds import CheckKind, CheckResult
from portal.store.base import Base


class PartCheck(Base):
    """A result of a check of one part; the last row of a kind counts.

    A line of work without a row is open.
    """

    __tablename__ = "part_check"
    __table_args__ = (sa.Index("ix_part_check_part_kind", "part_id", "kind"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int] = mapped_column(sa.ForeignKey("job.id"), index=True)
    part_id: Mapped[int] = mapped_column(sa.ForeignKey("part.id"))
    kind: Mapped[CheckKind]
    result: Mapped[CheckResult]
    note: Mapped[str] = mapped_column(sa.String(300), default="")  # as somebody typed it
    finding_id: Mapped[int | None] = mapped_column(sa.ForeignKey("finding.id"))
    at: Mapped[datetime]
    person_id: Mapped[int | None] = mapped_column(sa.ForeignKey("person.id"))
