"""The same again: a new order that begins with what an earlier one had.

What is on the parts now, and what is wrong with them, is asked anew. Name, address and telephone
come along only for who knows the last digits of the telephone: a link may have been found.
"""

from dataclasses import replace

from sqlalchemy.orm import Session

from portal.craft.declared import read_declared
from portal.craft.parts import Declared, PartSet
from portal.orders.counter.link_digits import prove
from portal.orders.intake.draft_answers import Answers, Contact
from portal.orders.intake.drafts import put_draft
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.job_links import behind
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.store.tables import Job

VERB = "order_again"


def order_again(
    unit: UnitOfWork, token: str, *, digits: str, known: bool, locale: str, once_token: str
) -> str:
    """Begin an order like the one behind a link; return the token of its draft.

    With the right `digits`, or where they are `known` already, the contact comes along; without
    any it does not. Raises Refused with key `digits`, RateLimited or Unknown.
    """
    if digits.strip():
        prove(unit, token, digits)
        known = True
    return _begin(unit, token, with_contact=known, locale=locale, once_token=once_token)


@transactional
@idempotent(VERB, answer="draft")
def _begin(
    unit: UnitOfWork,
    session: Session,
    token: str,
    *,
    with_contact: bool,
    locale: str,
    once_token: str,  # taken by the decorator
) -> str:
    job: Job = behind(session, token, unit.now(), Job)[0]
    answers = Answers(
        declared=_as_new(read_declared(job.declared)),
        contact=_contact(job) if with_contact and not job.customer.erased else None,
    )
    return put_draft(unit, session, answers, locale)


def _as_new(declared: Declared) -> Declared:
    return replace(declared, rush=False, sets=tuple(_as_wanted(one) for one in declared.sets))


def _as_wanted(one: PartSet) -> PartSet:
    """Return parts by what they are and how they are to be, not by how they came."""
    return PartSet(
        key=one.key,
        kind=one.kind,
        count=one.count,
        metal=one.metal,
        build=one.build,
        rim=one.rim,
        tyre=one.tyre,
        rim_text=one.rim_text,
        tyre_text=one.tyre_text,
        face=one.face,
        size_mm=one.size_mm,
        what=one.what,
        made=one.made,
        closed=one.closed,
        fitted=one.fitted,
        removers=one.removers,
        new_tyres=one.new_tyres,
        finish=one.finish,
    )


def _contact(job: Job) -> Contact:
    who = job.customer
    return Contact(who.name, who.email, who.phone, who.tell_by, job.vehicle)
