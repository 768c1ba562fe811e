"""Drafts of orders, photos, and the keys that make each final button count once."""

from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from portal.shop.states import PhotoPurpose
from portal.store.base import Base


class Draft(Base):
    """A customer's answers so far, behind an unguessable token; erased after seven days."""

    __tablename__ = "draft"

    id: Mapped[int] = mapped_column(primary_key=True)
    token: Mapped[str] = mapped_column(sa.String(32), unique=True)
    version: Mapped[int] = mapped_column(default=1)
    answers: Mapped[dict[str, Any]]  # {"declared": …, "contact": …, "slot": …, "confirmed": […]}
    locale: Mapped[str] = mapped_column(sa.String(8), default="en")
    created_at: Mapped[datetime]
    updated_at: Mapped[datetime]
    expires_at: Mapped[datetime] = mapped_column(index=True)
    job_id: Mapped[int | None] = mapped_column(sa.ForeignKey("job.id"))


class Photo(Base):
    """A re-encoded JPEG without metadata. Belongs to a draft, and later to a job or part."""

    __tablename__ = "photo"

    id: Mapped[int] = mapped_column(primary_key=True)
    token: Mapped[str] = mapped_column(sa.String(32), unique=True)
    draft_id: Mapped[int | None] = mapped_column(sa.ForeignKey("draft.id"), index=True)
    job_id: Mapped[int | None] = mapped_column(sa.ForeignKey("job.id"), index=True)
    part_id: Mapped[int | None] = mapped_column(sa.ForeignKey("part.id"), index=True)
    set_key: Mapped[str] = mapped_column(sa.String(8), default="")
    purpose: Mapped[PhotoPurpose]
    width: Mapped[int]
    height: Mapped[int]
    jpeg: Mapped[bytes]
    taken_at: Mapped[datetime]


class IdempotencyKey(Base):
    """A final button that was pressed: the same once-token gets the same answer again."""

    __tablename__ = "receipt"

    once: Mapped[str] = mapped_column(sa.String(40), primary_key=True)
    verb: Mapped[str] = mapped_column(sa.String(24))
    answer: Mapped[dict[str, Any]]
    at: Mapped[datetime]
