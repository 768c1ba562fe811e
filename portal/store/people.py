"""Staff, their sessions, sign-in tries, the machines' secret, and what the office changed."""

from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from portal.craft.messages import Message
from portal.shop.roles import Role
from portal.shop.states import DocumentKind
from portal.shop.verbs import AuditVerb
from portal.store.base import Base
from portal.store.types import MessageText


class Person(Base):
    """A member of staff."""

    __tablename__ = "person"

    id: Mapped[int] = mapped_column(primary_key=True)
    login: Mapped[str] = mapped_column(sa.String(60), unique=True)
    name: Mapped[str] = mapped_column(sa.String(80))
    role: Mapped[Role]
    password_hash: Mapped[str] = mapped_column(sa.String(200))
    pin_hash: Mapped[str] = mapped_column(sa.String(200), default="")
    totp_secret: Mapped[str] = mapped_column(sa.String(64), default="")
    totp_last: Mapped[int] = mapped_column(default=0)  # last used time step: a code counts once
    active: Mapped[bool] = mapped_column(default=True)
    created_at: Mapped[datetime]


class SecretFingerprint(Base):
    """What the secret of all machines over this database comes to: one row at most."""

    __tablename__ = "secret_fingerprint"

    id: Mapped[int] = mapped_column(primary_key=True)
    fingerprint: Mapped[str] = mapped_column(sa.String(64))


class RecoveryCode(Base):
    """A code that takes the place of a lost authenticator, once; only its SHA-256 is kept."""

    __tablename__ = "recovery_code"

    code_hash: Mapped[str] = mapped_column(sa.String(64), primary_key=True)
    person_id: Mapped[int] = mapped_column(sa.ForeignKey("person.id"), primary_key=True, index=True)
    made_at: Mapped[datetime]


class StaffSession(Base):
    """A signed-in device; the cookie holds the key, the row only its SHA-256.

    On a `shared` device the session locks when nobody touches it, and the next person opens it
    with a short PIN (`by_pin`), which is not enough for the office.
    """

    __tablename__ = "staff_session"

    key_hash: Mapped[str] = mapped_column(sa.String(64), primary_key=True)
    person_id: Mapped[int] = mapped_column(sa.ForeignKey("person.id"), index=True)
    data: Mapped[dict[str, Any]] = mapped_column(default=dict)
    shared: Mapped[bool] = mapped_column(default=False)
    locked: Mapped[bool] = mapped_column(default=False)
    by_pin: Mapped[bool] = mapped_column(default=False)
    created_at: Mapped[datetime]
    seen_at: Mapped[datetime]
    expires_at: Mapped[datetime] = mapped_column(index=True)


class KnownDevice(Base):
    """A browser that a person has signed in from: guesses made elsewhere never slow it down."""

    __tablename__ = "known_device"

    key_hash: Mapped[str] = mapped_column(sa.String(64), primary_key=True)
    person_id: Mapped[int] = mapped_column(sa.ForeignKey("person.id"), primary_key=True)
    made_at: Mapped[datetime]


class HeldForm(Base):
    """A form that was sent after its sign-in had ended, kept until its sender is back."""

    __tablename__ = "held_form"

    key_hash: Mapped[str] = mapped_column(sa.String(64), primary_key=True)
    path: Mapped[str] = mapped_column(sa.String(400))
    fields: Mapped[list[Any]]
    expires_at: Mapped[datetime] = mapped_column(index=True)


class SignInTry(Base):
    """Failed tries, counted by account and by address to make guessing slow."""

    __tablename__ = "sign_in_try"
    __table_args__ = (sa.Index("ix_sign_in_try_key_at", "key", "at"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    key: Mapped[str] = mapped_column(sa.String(120))
    at: Mapped[datetime]


class SettingsEdition(Base):
    """A document of the shop (prices, week, stations, place, letters) from a date on.

    The latest row of a kind whose `effective_from` has come is in force; old rows stay.
    """

    __tablename__ = "book"
    __table_args__ = (sa.Index("ix_book_kind_from", "kind", "effective_from"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[DocumentKind]
    body: Mapped[dict[str, Any]]
    effective_from: Mapped[datetime]
    made_at: Mapped[datetime]
    person_id: Mapped[int | None] = mapped_column(sa.ForeignKey("person.id"))


class Audit(Base):
    """Who did what in the office. Only ever added."""

    __tablename__ = "audit"

    id: Mapped[int] = mapped_column(primary_key=True)
    at: Mapped[datetime] = mapped_column(index=True)
    person_id: Mapped[int | None] = mapped_column(sa.ForeignKey("person.id"))
    verb: Mapped[AuditVerb]
    what: Mapped[str] = mapped_column(sa.String(400), default="")  # a name, a code, a number
    # what the house states beside the verb
    says: Mapped[Message | None] = mapped_column(MessageText)
