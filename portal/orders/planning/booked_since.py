"""A date is promised on a floor that knows everybody who has booked before."""

from collections.abc import Callable
from typing import TypeVar

from sqlalchemy.orm import Session

from portal.orders.kernel.unit import UnitOfWork
from portal.orders.planning.stored_floor import NewestWork, newest_work

T = TypeVar("T")
TRIES = 3


class BookedSince(Exception):  # named after what happened, as refusals are
    """Somebody has booked between the reading of a floor and the promise made on it."""


def promised(unit: UnitOfWork, promise: Callable[[NewestWork | None], T]) -> T:
    """Run `promise`, which reads the floor and then books; again where somebody booked between.

    Where people book faster than the floor can be read, the last try goes by a floor of some
    milliseconds ago; the margin of promises covers that.
    """
    for _ in range(TRIES):
        with unit.read() as session:
            newest = newest_work(session)
        try:
            return promise(newest)
        except BookedSince:
            continue
    return promise(None)


def refuse_if_booked_since(session: Session, newest: NewestWork | None) -> None:
    """Raise BookedSince where somebody has, in the transaction that books."""
    if newest is not None and newest_work(session) != newest:
        raise BookedSince
