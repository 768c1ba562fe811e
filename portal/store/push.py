"""Browsers that show messages about a job, and the key by which push services know us."""

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from portal.store.base import Base


class PushKey(Base):
    """The one private key of all machines over this database; browsers are bound to it."""

    __tablename__ = "push_key"

    id: Mapped[int] = mapped_column(primary_key=True)
    private_key: Mapped[str] = mapped_column(sa.String(64))


class PushSubscription(Base):
    """One browser that shows messages about one job; `endpoint` is its push service's."""

    __tablename__ = "push_subscription"
    __table_args__ = (sa.UniqueConstraint("job_id", "endpoint"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int] = mapped_column(sa.ForeignKey("job.id"))
    endpoint: Mapped[str] = mapped_column(sa.String(500))
    p256dh: Mapped[str] = mapped_column(sa.String(120))
    auth: Mapped[str] = mapped_column(sa.String(40))
    made_at: Mapped[datetime]
