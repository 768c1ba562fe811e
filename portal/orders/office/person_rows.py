"""Where a person stands in the tables: their customers, jobs, drafts, questions and letters.

One person may have ordered several times, each time with a row of their own: it is the same one
who has the same e-mail address, or the same telephone number and name.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.intake.draft_answers import Step
from portal.orders.kernel.errors import Unknown
from portal.orders.kernel.job_search import folded
from portal.shop.codes import normalise
from portal.store.tables import Customer, Draft, HeldForm, Job, Question

LEAST_DIGITS = 6


@dataclass(frozen=True, slots=True)
class PersonRows:
    """The ids of the rows that speak of a person, and what they are recognised by."""

    names: frozenset[str] = frozenset()  # folded
    emails: frozenset[str] = frozenset()  # in lower case
    phones: frozenset[str] = frozenset()  # E.164
    customer_ids: tuple[int, ...] = ()
    job_ids: tuple[int, ...] = ()
    draft_ids: tuple[int, ...] = ()
    question_ids: tuple[int, ...] = ()

    def in_text(self, text: str) -> bool:
        """Whether a text has their whole name, their e-mail address or their telephone number."""
        plain = folded(text)
        digits = "".join(ch for ch in text if ch.isdecimal())
        # a number is written with or without its country's code
        ends = [one[-LEAST_DIGITS - 2 :] for one in self.phones]
        return (
            any(name in plain for name in self.names)
            or any(one in plain for one in self.emails)
            or any(end in digits for end in ends)
        )

    def scrubbed(self, value: Any) -> Any:
        """Return a JSON value in which no text names them; a text that does becomes empty."""
        if isinstance(value, str):
            # a word of ours has no space, no @, and few digits
            return "" if not value.isidentifier() and self.in_text(value) else value
        if isinstance(value, dict):
            return {key: self.scrubbed(one) for key, one in value.items()}
        if isinstance(value, list):
            return [self.scrubbed(one) for one in value]
        return value


def person_of(session: Session, wanted: str) -> PersonRows:
    """Return the rows of the person with an e-mail address, or with a job of this code.

    Raise Unknown where there is none.
    """
    email = wanted.strip().lower() if "@" in wanted else ""
    if email:
        found = rows_of(session, PersonRows(emails=frozenset({email})))
        if not (found.customer_ids or found.draft_ids or found.question_ids):
            raise Unknown(Message("Nothing is kept of {who}.", who=wanted))
        return found
    job = session.scalar(sa.select(Job).where(Job.code == normalise(wanted)))
    if job is None:
        raise Unknown(Message("There is no job with the code {code}.", code=wanted))
    return rows_of_customer(session, job.customer)


def rows_of_customer(session: Session, customer: Customer) -> PersonRows:
    """Return the rows of the person who is `customer`."""
    seed = PersonRows(customer_ids=(customer.id,))
    if customer.erased:
        return replace(seed, job_ids=_jobs_of(session, (customer.id,)))
    return rows_of(session, _with(seed, [customer]))


def rows_of(session: Session, seed: PersonRows) -> PersonRows:
    """Return every row of a person, from what is known of them."""
    customers = session.scalars(sa.select(Customer).where(_same_customer(seed))).all()
    known = _with(seed, customers)
    ids = tuple(sorted({*seed.customer_ids, *(one.id for one in customers)}))
    questions = session.scalars(sa.select(Question).where(_same(Question, known))).all()
    drafts = {one.draft_id for one in questions if one.draft_id} | set(_drafts(session, known))
    return replace(
        known,
        customer_ids=ids,
        job_ids=_jobs_of(session, ids),
        draft_ids=tuple(sorted(drafts)),
        question_ids=tuple(one.id for one in questions),
    )


def held_forms(session: Session, person: PersonRows) -> list[HeldForm]:
    """Return the forms that are held for staff and name them."""
    rows = session.scalars(sa.select(HeldForm)).all()
    return [row for row in rows if any(person.in_text(text) for _, text in row.fields)]


def _with(seed: PersonRows, customers: Sequence[Customer]) -> PersonRows:
    named = [one for one in customers if not one.erased]
    return replace(
        seed,
        names=seed.names | {folded(one.name) for one in named if " " in one.name.strip()},
        emails=seed.emails | {one.email.lower() for one in named if one.email},
        phones=seed.phones | {one.phone for one in named if one.phone},
    )


def _same_customer(seed: PersonRows) -> sa.ColumnElement[bool]:
    return sa.or_(Customer.id.in_(seed.customer_ids), _same(Customer, seed))


def _same(table: type[Customer | Question], known: PersonRows) -> sa.ColumnElement[bool]:
    by_mail = sa.func.lower(table.email).in_(known.emails)
    by_phone = sa.and_(table.phone.in_(known.phones), sa.func.lower(table.name).in_(known.names))
    return sa.or_(by_mail, by_phone)


def _jobs_of(session: Session, customer_ids: Sequence[int]) -> tuple[int, ...]:
    query = sa.select(Job.id).where(Job.customer_id.in_(customer_ids)).order_by(Job.id)
    return tuple(session.scalars(query))


def _drafts(session: Session, known: PersonRows) -> Iterator[int]:
    """Yield the drafts whose contact, as saved or as it stands unsent, is this person's."""
    for draft_id, answers in session.execute(sa.select(Draft.id, Draft.answers)):
        unsent = (answers.get("unsent") or {}).get(Step.YOU.value) or {}
        typed = [text for texts in unsent.values() for text in texts]
        contact = (answers.get("contact") or {}).values()
        if any(isinstance(one, str) and known.in_text(one) for one in (*contact, *typed)):
            yield draft_id
