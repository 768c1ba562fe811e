"""Hardware bags that can't be found: the customer is asked as for a lost part.

As long as there is no answer the job waits. Once the customer agreed to go on without it, nobody
has to count it any more.
"""

from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.counter.bags import bags_of
from portal.orders.counter.finding_answers import weigh_the_rest_anew
from portal.orders.counter.findings import raise_held, take_back_held
from portal.orders.counter.job_parts import order_parts
from portal.orders.counter.lost import reason_in
from portal.orders.counter.waiting import go_on_when_nothing_waits
from portal.orders.kernel.errors import Already, Refused, Unknown
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.job_lock import lock_job, not_now, record_event, refuse_if_overtaken
from portal.orders.kernel.progress_letters import letter_found, was_asked_about
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.shop.pricing.differences import Difference
from portal.shop.states import FindingAnswer
from portal.shop.verbs import EventVerb
from portal.store.jobs import Finding, HardwareBag, Job


@transactional
@idempotent("lose_bag", answer="finding")
def lose_bag(  # noqa: PLR0913  # a loss has this many sides, all named
    unit: UnitOfWork,
    session: Session,
    job_id: int,
    label: str,
    reason: str,
    *,
    expected_event_id: int,
    once_token: str,  # taken by the decorator
    who: int | None,
) -> int:
    """Write a bag off as lost, tell its customer and wait for the answer; return the finding."""
    text = reason_in(reason)
    job = lock_job(session, job_id)
    if not job.state.is_in_house:
        raise Refused(not_now(job.state))
    bag = _bag(session, job_id, label)
    if not bag.present:
        raise Already(Message("This bag is not here."))
    refuse_if_overtaken(session, job_id, expected_event_id)
    bag.present = False
    says = Message("{bag}: lost ({reason})", bag=label, reason=text)
    record_event(session, job, EventVerb.BAG, at=unit.now(), who=who, says=says)
    bag.finding_id = raise_held(unit, session, job, _loss(session, job, bag, text), who=who)
    return bag.finding_id


@transactional
def found_bag(
    unit: UnitOfWork, session: Session, job_id: int, label: str, *, who: int | None
) -> None:
    """Note that a lost bag was found; a question to the customer about it is taken back."""
    job = lock_job(session, job_id)
    bag = _bag(session, job_id, label)
    if bag.present:
        raise Already(Message("This bag is here."))
    bag.present = True
    says = Message("{bag}: here", bag=label)
    record_event(session, job, EventVerb.BAG, at=unit.now(), who=who, says=says)
    finding = session.get(Finding, bag.finding_id) if bag.finding_id else None
    bag.finding_id = None
    if finding is None:
        return
    answer = finding.answer
    if answer is FindingAnswer.OPEN:
        take_back_held(unit, session, job, finding, who=who)
        weigh_the_rest_anew(unit, session, job, who=who)
        go_on_when_nothing_waits(unit, session, job, who=who)
    else:
        job.flag = Message("Bag {bag} was found again: tell the customer", bag=label)
    if was_asked_about(session, job_id, finding.raised_at, answer):
        letter_found(unit, session, job, bag=label, answer=answer)


def _bag(session: Session, job_id: int, label: str) -> HardwareBag:
    found = next((one for one in bags_of(session, job_id) if one.label == label), None)
    if found is None:
        raise Unknown(Message("This job has no bag {label}.", label=label))
    return found


def _loss(session: Session, job: Job, bag: HardwareBag, note: str) -> Difference:
    """Return the loss as what is found of a whole set: nothing of the parts differs."""
    order = order_parts(session, job)
    key = next(iter(sorted(set(order.key_of.values()))), "")
    own = order.set_of(key)
    if own is None:
        raise Refused(Message("No part of this job is here any more."))
    named = f"{bag.label}: {bag.contents}"
    return Difference(key, order.numbers_of(key), own, note=note, bag=named, changed=("note",))
