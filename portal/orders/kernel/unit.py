"""Context passed to every verb: session factory, clock, random source, base URL."""

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from functools import wraps
from typing import Concatenate, ParamSpec, TypeVar, cast

import sqlalchemy as sa
from sqlalchemy import event
from sqlalchemy.exc import DBAPIError, IntegrityError
from sqlalchemy.orm import Session, sessionmaker

from portal.orders.kernel.errors import Busy, Unavailable
from portal.orders.kernel.shop_cache import ShopCache
from portal.shop.codes import RandomBytes
from portal.shop.shop import Shop
from portal.store.engine import (
    StoreFacts,
    begin_reading,
    begin_writing,
    facts,
    is_conflict,
    is_gone,
    is_unavailable,
    make_engine,
    make_sessions,
    wipe,
)

T = TypeVar("T")
P = ParamSpec("P")
READING, SHOP = "only_reading", "shop"
TRIES = 12
# a key that was just taken by another: the verb picks the next code or place and tries again
TRIES_ON_A_TAKEN_KEY = 4
FIRST_PAUSE, LONGEST_PAUSE = 0.004, 0.4
# who waits longer has gone; each try may itself wait for the database
GIVE_UP_AFTER_S = 20


class UnitOfWork:
    """What a verb may use; `transactional` and `read_only` open its session."""

    def __init__(
        self,
        sessions: sessionmaker[Session],
        now: Callable[[], datetime],
        random_bytes: RandomBytes,
        base_url: str,
    ) -> None:
        self.now = now
        self.random_bytes = random_bytes
        self.base_url = base_url
        self._sessions = sessions
        self._shop_cache = ShopCache()
        self._open = threading.local()

    def write(self, work: Callable[[Session], T]) -> T:
        """Run `work` in one transaction and commit, whole or not at all.

        When another writer was in the way the transaction is run again from its beginning, so
        `work` must not have effects outside the database. Raises `Busy` when it never got its
        turn, and whatever `work` raises.
        """
        taken_keys, began = 0, time.monotonic()
        for attempt in range(1, TRIES + 1):
            try:
                return self._attempt(work)
            except IntegrityError:
                taken_keys += 1
                if taken_keys >= TRIES_ON_A_TAKEN_KEY:
                    raise
            except DBAPIError as error:
                self._must_be_conflict(error)
                if attempt == TRIES or time.monotonic() - began > GIVE_UP_AFTER_S:
                    raise Busy from error
            self._pause(attempt)
        raise Busy

    def look(self, work: Callable[[Session], T]) -> T:
        """Run `work` in one snapshot that can't be written to; again where a writer was in the way.

        A lost connection is tried again, too. Raises `Busy`, `Unavailable`, and what `work` raises.
        """
        nested = self._session() is not None

        def attempt() -> T:
            with self.read() as session:
                return work(session)

        # a snapshot in another one is the outer one's
        return attempt() if nested else self._until_free(attempt)

    def _until_free(self, read: Callable[[], T]) -> T:
        """Return what `read` does, again where a writer was in the way or the connection lost."""
        began = time.monotonic()
        for attempt in range(1, TRIES + 1):
            try:
                return read()
            except DBAPIError as error:
                if not is_gone(error) or attempt == TRIES:
                    self._must_be_conflict(error)
                if attempt == TRIES or time.monotonic() - began > GIVE_UP_AFTER_S:
                    raise Busy from error
            self._pause(attempt)
        raise Busy

    @staticmethod
    def _must_be_conflict(error: DBAPIError) -> None:
        if is_conflict(error):
            return
        if is_unavailable(error):
            raise Unavailable from error
        raise error

    @contextmanager
    def read(self) -> Iterator[Session]:
        """Yield a session that sees one snapshot and can't write.

        A nested read reuses this thread's session: on SQLite a second one would wait for a writer
        who waits for the outer read to end. It begins again where a writer is in the way; what is
        read in it later is in nobody's way. Raises `Busy` and `Unavailable`.
        """
        session = self._session()
        if session is not None:
            yield session
            return
        with self._sessions(info={READING: True}) as session, self._opened(session):
            self._until_free(lambda: _begin_reading(session))
            yield session

    def shop(self, session: Session, at: datetime | None = None) -> Shop:
        """Return the shop as its documents say, now or as it was `at` some moment.

        In one snapshot the shop of now is asked for once.
        """
        if at is not None or not session.info.get(READING):
            return self._shop_cache.shop(session, at or self.now())
        if SHOP not in session.info:
            session.info[SHOP] = self._shop_cache.shop(session, self.now())
        return cast("Shop", session.info[SHOP])

    def store(self) -> StoreFacts:
        """Return what the database is; raises when it can't be reached."""
        return facts(self._engine())

    def is_our_form(self, form: str) -> bool:
        """Return whether a database of this form is of this version."""
        from portal.store.migrations import head  # noqa: PLC0415  # loads Alembic

        return form == head()

    def wipe(self) -> None:
        """Remove what was deleted from the database's files; nobody can work meanwhile."""
        wipe(self._engine())

    def close(self) -> None:
        """Close every connection."""
        self._engine().dispose()

    def _engine(self) -> sa.Engine:
        engine = self._sessions.kw["bind"]
        assert isinstance(engine, sa.Engine)
        return engine

    def _attempt(self, work: Callable[[Session], T]) -> T:
        if self._session() is not None:
            msg = "a verb began inside a read or another verb, and would wait for it to end"
            raise AssertionError(msg)
        with self._sessions() as session, self._opened(session):
            begin_writing(session)
            answer = work(session)
            try:
                session.commit()
            except DBAPIError:
                # SQLite leaves a transaction open whose commit found a reader in the way, with
                # its locks; the pool would hand the connection on like that
                session.invalidate()
                raise
            return answer

    def _session(self) -> Session | None:
        """Return the session that this thread has open."""
        found: Session | None = getattr(self._open, "session", None)
        return found

    @contextmanager
    def _opened(self, session: Session) -> Iterator[None]:
        self._open.session = session
        try:
            yield
        finally:
            self._open.session = None

    def _pause(self, attempt: int) -> None:
        longest = min(FIRST_PAUSE * 2**attempt, LONGEST_PAUSE)
        # uneven, so that two writers that met do not meet again
        time.sleep(longest * (1 + self.random_bytes(1)[0]) / 256)


def _begin_reading(session: Session) -> None:
    try:
        begin_reading(session)
    except DBAPIError:
        session.rollback()  # a session can't go on with what is left of a connection
        raise


def refusal_of(problem: Exception) -> Busy | None:
    """Return what an error of the database means to who waits; None where the fault is ours."""
    if not isinstance(problem, DBAPIError):
        return None
    if is_conflict(problem):
        return Busy()
    return Unavailable() if is_unavailable(problem) else None


def unavailable_because(problem: Exception) -> str:
    """Return the database's own words for why it can't be used; "" where the fault is ours."""
    cause = problem.__cause__ if isinstance(problem, Busy) else problem
    if isinstance(cause, DBAPIError) and refusal_of(cause) is not None:
        return str(cause.orig).strip().partition("\n")[0]
    return ""


def open_unit(
    database_url: str,
    *,
    now: Callable[[], datetime],
    random_bytes: RandomBytes,
    base_url: str,
) -> UnitOfWork:
    """Return a unit over the database at `database_url`."""
    return UnitOfWork(
        sessions=make_sessions(make_engine(database_url)),
        now=now,
        random_bytes=random_bytes,
        base_url=base_url,
    )


def transactional(
    verb: Callable[Concatenate[UnitOfWork, Session, P], T],
) -> Callable[Concatenate[UnitOfWork, P], T]:
    """Run a verb in one writing transaction of its unit, and commit it whole or not at all.

    The verb is written with `unit, session` in front and called with `unit` alone. It may run
    again from its beginning (see `UnitOfWork.write`): no effects outside the database, and what
    is slow or can be read once only (a password's hash, an upload) comes before it.
    """

    @wraps(verb)
    def in_transaction(unit: UnitOfWork, /, *args: P.args, **kwargs: P.kwargs) -> T:
        return unit.write(lambda session: verb(unit, session, *args, **kwargs))

    return in_transaction


def read_only(
    view: Callable[Concatenate[UnitOfWork, Session, P], T],
) -> Callable[Concatenate[UnitOfWork, P], T]:
    """Run a view in one snapshot of its unit, in which nothing can be written.

    The view is written with `unit, session` in front and called with `unit` alone. The snapshot
    ends with the view: long computing belongs behind a `with unit.read()`.
    """

    @wraps(view)
    def in_snapshot(unit: UnitOfWork, /, *args: P.args, **kwargs: P.kwargs) -> T:
        return unit.look(lambda session: view(unit, session, *args, **kwargs))

    return in_snapshot


@event.listens_for(Session, "before_flush")
def _refuse_to_write_while_reading(session: Session, *_: object) -> None:
    # a GET must change nothing: mail and chat programs fetch links ahead of people
    if session.info.get(READING) and (session.new or session.dirty or session.deleted):
        msg = "a session from UnitOfWork.read() was about to write"
        raise AssertionError(msg)
