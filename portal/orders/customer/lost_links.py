"""Who lost slip and link has the link sent again, to the address that we have and nowhere else."""

import hashlib
from collections.abc import Sequence
from datetime import timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Session, contains_eager

from portal.craft.messages import Message
from portal.notices.letters import LinkedJob, StatusLinks
from portal.notices.outbox import queue
from portal.notices.sender import sender_of
from portal.orders.access.rate_limit import count_a_try
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.job_links import is_open_at
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.shop.codes import CodeReading, read_code, shown, status_link
from portal.shop.states import LetterKind
from portal.store.tables import Customer, Job, Letter

MOST_JOBS = 10
A_DAY = timedelta(days=1)
LETTERS_A_DAY = 3  # to one address, whoever asks
WHAT_WE_READ = Message("Enter the code on your slip, or the e-mail address you gave us.")
MISTYPED = Message("This code has a typing mistake. Check each character.")


@transactional
def send_lost_links(unit: UnitOfWork, session: Session, typed: str, address: str) -> None:
    """Send the links of the open orders behind a code or an e-mail address.

    Nothing tells whether there are any. `address` is whence it was asked. Raise Refused for what
    is neither code nor address, `RateLimited` for too many.
    """
    wanted = _wanted(typed.strip())
    count_a_try(session, [f"lost:{_digest(typed)}", f"seeker:{_digest(address)}"], unit.now())
    jobs = _open_jobs(unit, session, wanted)
    if not jobs:
        return
    today = _letters_today(unit, session, jobs[0].customer.email)
    if today < LETTERS_A_DAY:
        _send(unit, session, jobs, cause=f"asked-{unit.now():%Y%m%dT%H%M%S}-{today}")


def _wanted(typed: str) -> sa.ColumnElement[bool]:
    """Return which jobs are meant; raise Refused where that can't be read."""
    if "@" in typed:
        return sa.func.lower(Customer.email) == typed.casefold()
    reading, code = read_code(typed)
    if reading is CodeReading.CODE:
        return Job.code == code
    raise Refused(MISTYPED if reading is CodeReading.MISTYPED else WHAT_WE_READ, key="known")


def _digest(typed: str) -> str:
    """Return what stands for a text where it is counted: who it names is not kept there."""
    return hashlib.sha256(typed.strip().casefold().encode()).hexdigest()[:32]


def _open_jobs(unit: UnitOfWork, session: Session, wanted: sa.ColumnElement[bool]) -> Sequence[Job]:
    """Return the jobs whose link still opens and whose customer has an address, newest first."""
    query = (
        sa.select(Job)
        .join(Job.customer)
        .options(contains_eager(Job.customer))
        .where(wanted, Customer.email != "")
        .where(is_open_at(unit.now()))
        .order_by(Job.id.desc())
        .limit(MOST_JOBS)
    )
    return [job for job in session.scalars(query) if not job.customer.erased]


def _letters_today(unit: UnitOfWork, session: Session, email: str) -> int:
    query = sa.select(sa.func.count()).where(
        Letter.kind == LetterKind.STATUS_LINKS,
        sa.func.lower(Letter.to) == email.casefold(),
        Letter.made_at > unit.now() - A_DAY,
    )
    return session.scalar(query) or 0


def _send(unit: UnitOfWork, session: Session, jobs: Sequence[Job], *, cause: str) -> None:
    newest = jobs[0]
    person = newest.customer
    letter = StatusLinks(
        sender=sender_of(unit.shop(session), person.locale, person.units),
        locale=person.locale,
        name=person.name,
        jobs=tuple(
            LinkedJob(shown(job.code), job.summary, status_link(unit.base_url, job.token))
            for job in jobs
        ),
    )
    queue(
        session,
        letter,
        job_id=newest.id,
        cause=cause,
        to=person.email,
        at=unit.now(),
        random_bytes=unit.random_bytes,
    )
