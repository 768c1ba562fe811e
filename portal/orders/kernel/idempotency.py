"""A final button counts once: the same once-token gets the same answer again."""

from collections.abc import Callable
from functools import wraps
from inspect import signature
from typing import Any, Concatenate, ParamSpec, TypeVar, cast

from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.unit import UnitOfWork
from portal.store.tables import IdempotencyKey

LONGEST = 40

P = ParamSpec("P")
R = TypeVar("R")
Verb = Callable[Concatenate[UnitOfWork, Session, P], R]


def idempotent(name: str, *, answer: str = "") -> Callable[[Verb[P, R]], Verb[P, R]]:
    """Let a verb that takes a keyword `once_token` count once, and repeat its answer after that.

    It stands below `transactional`, or on a part of a verb inside its transaction: the key is
    written in the same transaction as the work, so that either both are there or neither. The
    verb returns a dict of JSON or None; with `answer`, one value of JSON that is stored by that
    name. `name` is stored too, and a token serves one name only. Raises Refused for a token that
    is missing or served another verb.
    """

    def decorate(verb: Verb[P, R]) -> Verb[P, R]:
        if "once_token" not in signature(verb).parameters:
            msg = f"{verb.__qualname__} takes no once_token"
            raise TypeError(msg)

        @wraps(verb)
        def counted(unit: UnitOfWork, session: Session, /, *args: P.args, **kwargs: P.kwargs) -> R:
            token = cast("str", kwargs["once_token"])
            known = earlier_answer(session, token, name)
            if known is not None:
                return cast("R", known[answer] if answer else known or None)
            value = verb(unit, session, *args, **kwargs)
            stored = {answer: value} if answer else value or {}
            session.add(IdempotencyKey(once=token, verb=name, answer=stored, at=unit.now()))
            # a second press that ran at the same time meets the key here, and is run again
            session.flush()
            return value

        return counted

    return decorate


def earlier_answer(session: Session, token: str, name: str) -> dict[str, Any] | None:
    """Return what the press with this token was answered; None before the first.

    Raises Refused for a token that is missing or served another verb.
    """
    if not 8 <= len(token) <= LONGEST:
        raise Refused(Message("This page did not load completely. Open it again."))
    known = session.get(IdempotencyKey, token)
    if known is None:
        return None
    if known.verb != name:
        raise Refused(Message("This page was already used for something else. Open it again."))
    return known.answer
