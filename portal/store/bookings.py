"""Drop-off places: a unique key keeps two customers from taking the last one."""

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from portal.shop.states import Horizon, OrderKind
from portal.store.base import Base


class Booking(Base):
    """One place in one drop-off window. `place` counts from 1 up to the window's capacity."""

    __tablename__ = "booking"
    __table_args__ = (sa.UniqueConstraint("window_start", "place"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    window_start: Mapped[datetime]
    place: Mapped[int]
    job_id: Mapped[int] = mapped_column(sa.ForeignKey("job.id"), unique=True)


class PromiseMade(Base):
    """What the simulation foresaw when a date was promised: its margin is learned from it."""

    __tablename__ = "promise"

    job_id: Mapped[int] = mapped_column(sa.ForeignKey("job.id"), primary_key=True)
    made_at: Mapped[datetime]
    foreseen_at: Mapped[datetime]  # before the margin and before rounding to a pickup hour
    kind: Mapped[OrderKind]
    horizon: Mapped[Horizon]
