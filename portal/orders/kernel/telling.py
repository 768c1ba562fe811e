"""Of what the customer of a job wants to be told, and how news leaves by its choices."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import timedelta

from sqlalchemy.orm import Session

from portal.craft.parts import Declared, PartKind
from portal.notices.outbox import Sending
from portal.orders.kernel.job_links import behind
from portal.orders.kernel.job_order import declared_of
from portal.orders.kernel.push import shows_messages
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.codes import status_link
from portal.shop.states import Channel, LetterKind, LetterState
from portal.shop.telling import CALLED_INSTEAD, CHOICES, choice_of, not_at_night
from portal.store.jobs import Job
from portal.store.letters import TellingChoice


@dataclass(frozen=True, slots=True)
class Telling:
    """A customer's settings for messages: the kinds switched off, and whether texts are sent.

    `kinds` are those that can come for these parts.
    """

    token: str
    kinds: tuple[LetterKind, ...]
    off: frozenset[LetterKind]
    by_text: bool
    has_email: bool
    has_phone: bool


@read_only
def telling(unit: UnitOfWork, session: Session, token: str) -> Telling:
    """Return the choices of the job behind a link; raise Unknown."""
    job: Job = behind(session, token, unit.now(), Job)[0]
    off, by_text = _choices(session, job.id)
    email, phone = bool(job.customer.email), bool(job.customer.phone)
    return Telling(job.token, _kinds_for(declared_of(job)), off, by_text, email, phone)


def _kinds_for(declared: Declared) -> tuple[LetterKind, ...]:
    wheels = any(one.kind is PartKind.WHEEL for one in declared.sets)
    return tuple(one for one in CHOICES if wheels or one is not LetterKind.RECHECK)


@transactional
def choose(
    unit: UnitOfWork, session: Session, token: str, on: Collection[LetterKind], *, by_text: bool
) -> None:
    """Save which kinds of message the customer gets; the others are switched off."""
    job: Job = behind(session, token, unit.now(), Job)[0]
    _save(session, job.id, [one.value for one in CHOICES if one not in on], by_text=by_text)


@transactional
def switch_off(unit: UnitOfWork, session: Session, token: str, kind: LetterKind) -> None:
    """Switch one kind off; doing it twice is harmless."""
    job: Job = behind(session, token, unit.now(), Job)[0]
    off, by_text = _choices(session, job.id)
    chosen = choice_of(kind)
    if chosen is not None and chosen not in off:
        _save(session, job.id, [one.value for one in {*off, chosen}], by_text=by_text)


def ways_of(
    unit: UnitOfWork, session: Session, job: Job, kind: LetterKind, wait: timedelta = timedelta()
) -> tuple[Sending, ...]:
    """Return how news of a kind leaves: by e-mail, by text and to browsers where it is wanted.

    Where it is switched off, staff call about what a customer must know in time.
    """
    chosen = choice_of(kind)
    off, by_text = _choices(session, job.id)
    not_before = not_at_night(unit.shop(session).week, unit.now() + wait, kind)
    if chosen in off:
        called = kind in CALLED_INSTEAD
        return (Sending(state=LetterState.NO_ADDRESS if called else LetterState.SWITCHED_OFF),)
    link = f"{status_link(unit.base_url, job.token)}/news/{chosen.value}" if chosen else ""
    mail = Sending(not_before=not_before, unsubscribe=link)
    ways = [mail]
    if by_text and job.customer.phone:
        ways.append(Sending(Channel.TEXT, not_before))
    if shows_messages(session, job.id):
        ways.append(Sending(Channel.PUSH, not_before))
    return tuple(ways)


def _choices(session: Session, job_id: int) -> tuple[frozenset[LetterKind], bool]:
    row = session.get(TellingChoice, job_id)
    if row is None:
        return frozenset(), False
    return frozenset(LetterKind(one) for one in row.off), row.by_text


def _save(session: Session, job_id: int, off: list[str], *, by_text: bool) -> None:
    row = session.get(TellingChoice, job_id)
    if row is None:
        row = TellingChoice(job_id=job_id)
        session.add(row)
    row.off, row.by_text = sorted(off), by_text
