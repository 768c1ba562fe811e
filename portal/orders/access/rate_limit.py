"""Rate limits on sign-in that don't let anybody lock a colleague out.

Failed tries are counted by account at an address, and by address. So a stranger who guesses slows
down nobody elsewhere; and a browser that the person has used before is counted by itself, so that
guesses made at the works' own address never slow it down.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.errors import RateLimited, Refused
from portal.store.tables import SignInTry

COUNTED_FOR = timedelta(hours=24)
REMEMBERED_FOR = timedelta(days=30)
LONGEST_WAIT = 15 * 60
# a person mistypes a few times; a workshop behind one address has several persons
FREE = {
    "pair": 5,
    "device": 5,
    "pin": 3,
    "code": 5,
    "address": 20,
    "word": 5,
    "link": 4,
    "ask": 8,
    "asked": 5,
    "firm": 5,
    "lost": 3,
    "seeker": 8,
}
# who asks a question, or for a link, has tried nothing wrong
QUESTIONS = ("ask", "asked")
LINKS = ("firm", "lost", "seeker")
# NIST SP 800-63B: no more than 100 failures in a row
MOST_IN_A_ROW = 100
FREE["login"] = MOST_IN_A_ROW


def wait_after(failures: int, free: int) -> int:
    """Return the seconds to wait after so many failures: none at first, then doubling."""
    if failures < free:
        return 0
    doubled: int = 2 ** min(failures - free, 12)
    return min(doubled, LONGEST_WAIT)


def count_a_try(session: Session, keys: Sequence[str], at: datetime) -> None:
    """Record a try before it is checked; raise `RateLimited` where there were too many.

    It is recorded first, so that simultaneous tries are all counted; `forget` removes a good one.
    """
    for key in keys:
        _must_not_wait(session, key, at)
    session.add_all(SignInTry(key=key, at=at) for key in keys)
    session.flush()


def forget(session: Session, keys: Sequence[str]) -> None:
    """Delete the failed tries after a good one."""
    session.execute(sa.delete(SignInTry).where(SignInTry.key.in_(keys)))


def forget_account(session: Session, login: str) -> None:
    """Delete the failed tries at an account, wherever they were made."""
    here = SignInTry.key.startswith(f"pair:{login}@", autoescape=True)
    session.execute(sa.delete(SignInTry).where(here | (SignInTry.key == f"login:{login}")))


def _must_not_wait(session: Session, key: str, at: datetime) -> None:
    kind = key.partition(":")[0]
    recent = sa.func.sum(sa.case((SignInTry.at > at - COUNTED_FOR, 1), else_=0))
    failures, in_a_row, last = session.execute(
        sa.select(recent, sa.func.count(), sa.func.max(SignInTry.at)).where(
            SignInTry.key == key, SignInTry.at > at - REMEMBERED_FOR
        )
    ).one()
    if not in_a_row:
        return
    if kind in {"login", "code"} and in_a_row >= MOST_IN_A_ROW:
        raise Refused(
            Message(
                "Too many wrong tries. Sign in on a device you have used before, or ask the "
                "office for a new password."
            )
        )
    until = last + timedelta(seconds=wait_after(int(failures), FREE[kind]))
    if until > at:
        seconds = int((until - at).total_seconds()) + 1
        says = Message("Several wrong tries. Wait {n} seconds, then try again.", n=seconds)
        if kind in LINKS:
            says = Message("You have asked for several links. Wait {n} seconds.", n=seconds)
        if kind in QUESTIONS:
            says = Message(
                "You have sent several questions. Wait {n} seconds, then send this one.", n=seconds
            )
        raise RateLimited(says, seconds=seconds)
