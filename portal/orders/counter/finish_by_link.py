"""Another colour or finish by the customer's link, until the parts go to the powder booth.

Until when, and at what cost, is the shop's rule: `ChangeRules.finish_until` and the line
`finish_change` of the price list. Price and date are shown first, by the rules of a change at the
counter (`finding_impact`). Money is touched, so the last digits of the telephone are asked for.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from portal.craft.colour_names import ColourName
from portal.craft.finishes import can_be_made, in_finish, systems_for
from portal.craft.messages import Message
from portal.craft.parts import Declared, Effect, FinishChoice, PartSet, Powder, System
from portal.orders.counter.finding_answers import AgreedChange, put_change
from portal.orders.counter.finding_impact import FindingImpact, weigh
from portal.orders.counter.job_parts import open_findings, order_parts
from portal.orders.counter.link_digits import WRONG, are_right, digits_in
from portal.orders.kernel.errors import Overtaken, Refused
from portal.orders.kernel.idempotency import earlier_answer, idempotent
from portal.orders.kernel.job_links import behind
from portal.orders.kernel.job_lock import (
    last_event,
    lock_job,
    parts_of,
    record_event,
    refuse_if_overtaken,
)
from portal.orders.kernel.job_order import shop_as_booked
from portal.orders.kernel.posting import Cause
from portal.orders.kernel.progress_letters import letter_finish_changed
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.money import Money
from portal.shop.moves import JobState
from portal.shop.pricing.differences import Difference
from portal.shop.pricing.quote_lines import QuoteLine
from portal.shop.shop import Shop
from portal.shop.verbs import EventVerb
from portal.shop.works import FinishUntil
from portal.store.jobs import Job

VERB = "finish_by_link"
TOO_LATE = Message("It is too late to change this here. Call us, and we'll do it with you.")
ANSWER_FIRST = Message("Answer our question about your parts first.")
NO_SUCH = Message("We can't make this colour with these coats and this gloss. Choose another.")
CHANGED = Message("The price or the date has changed. Check it, then press again.")


@dataclass(frozen=True, slots=True)
class OpenFinish:
    """A set whose colour and finish can still be changed, and to what."""

    own: PartSet
    numbers: tuple[int, ...]
    systems: tuple[System, ...]
    powders: dict[str, Powder]
    stock: dict[str, Powder]

    def made(self, choice: FinishChoice) -> PartSet | None:
        """Return the parts in another finish; None where we can't make it."""
        wanted = in_finish(self.own, choice.system, choice.colour, choice.gloss)
        makes = choice.system in self.systems and can_be_made(wanted, self.stock)
        return wanted if makes and choice.colour in self.powders else None


@dataclass(frozen=True, slots=True)
class FinishChange:
    """What can be changed behind a link: none of the sets where it is too late.

    `fee` is what the shop asks for each change, `waits` whether a question comes first.
    """

    job_id: int
    last_event_id: int
    sets: tuple[OpenFinish, ...]
    until: FinishUntil
    fee: Money
    waits: bool

    def of(self, key: str) -> OpenFinish:
        """Return one of the sets, the only one without its key; Refused where it is too late."""
        own = [one for one in self.sets if one.own.key == key or (not key and len(self.sets) == 1)]
        if not own:
            raise Refused(ANSWER_FIRST if self.waits else TOO_LATE)
        return own[0]


@dataclass(frozen=True, slots=True)
class FinishImpact:
    """What another finish comes to, the fee included; `read` sends it back with the press."""

    wanted: PartSet
    lines: tuple[QuoteLine, ...]
    fee: Money
    amount: Money
    total: Money
    days: int
    ready_at: datetime
    was_at: datetime

    @property
    def read(self) -> str:
        """The price and the date as one text."""
        return f"{self.total.minor}.{self.ready_at:%Y%m%dT%H%M}"


@read_only
def finish_change(unit: UnitOfWork, session: Session, token: str) -> FinishChange:
    """Return what can be changed behind a link; Unknown for a link that is none, or is over."""
    job: Job = behind(session, token, unit.now(), Job)[0]
    return _change_of(unit, session, job)


def weigh_finish(unit: UnitOfWork, token: str, key: str, choice: FinishChoice) -> FinishImpact:
    """Return what another finish changes, without saving it.

    Raise Refused where it is too late, where it is what was ordered, or can't be made.
    """
    change = finish_change(unit, token)
    own = change.of(key)
    found = _difference(own, choice)
    return _impact(change, found, weigh(unit, change.job_id, found))


def change_finish(  # noqa: PLR0913  # what a change is made of, all named
    unit: UnitOfWork,
    token: str,
    key: str,
    choice: FinishChoice,
    *,
    read: str,
    digits: str,
    expected_event_id: int,
    once_token: str,
) -> None:
    """Put another finish into the order; pressing twice is once.

    Raises Refused (too late, can't be made, or with key `digits`: wrong ones), RateLimited,
    Overtaken (the job, the price or the date is not what the page showed) or Unknown.
    """
    given = digits_in(digits)
    with unit.read() as session:
        if earlier_answer(session, once_token, VERB) is not None:
            return
    impact = weigh_finish(unit, token, key, choice)
    if impact.read != read:
        raise Overtaken(CHANGED)
    # a wrong try must stay counted, so the refusal comes after the transaction
    if not _change(
        unit,
        token,
        key,
        choice,
        impact,
        given,
        expected_event_id=expected_event_id,
        once_token=once_token,
    ):
        raise Refused(WRONG, key="digits")


@transactional
def _change(  # noqa: PLR0913  # as above
    unit: UnitOfWork,
    session: Session,
    token: str,
    key: str,
    choice: FinishChoice,
    impact: FinishImpact,
    digits: str,
    *,
    expected_event_id: int,
    once_token: str,
) -> bool:
    """Return whether the digits were right, and the change is in the order."""
    found: Job = behind(session, token, unit.now(), Job)[0]
    job = lock_job(session, found.id)
    if not are_right(unit, session, job.token, job.customer.phone, digits):
        return False
    _put(
        unit,
        session,
        job,
        key,
        choice,
        impact,
        expected_event_id=expected_event_id,
        once_token=once_token,
    )
    return True


@idempotent(VERB)
def _put(  # noqa: PLR0913  # as above
    unit: UnitOfWork,
    session: Session,
    job: Job,
    key: str,
    choice: FinishChoice,
    impact: FinishImpact,
    *,
    expected_event_id: int,
    once_token: str,  # taken by the decorator
) -> None:
    refuse_if_overtaken(session, job.id, expected_event_id)
    own = _change_of(unit, session, job).of(key)
    agreed = AgreedChange(_difference(own, choice), impact.amount.minor, impact.days)
    put_change(unit, session, job, agreed, Cause(unit.now(), None))
    says = Message(
        "{system}, {colour}",
        system=choice.system,
        colour=ColourName(own.powders[choice.colour].name),
    )
    record_event(session, job, EventVerb.FINISH, at=unit.now(), who=None, says=says)
    letter_finish_changed(unit, session, job, says, impact.amount, total=impact.total)


def _change_of(unit: UnitOfWork, session: Session, job: Job) -> FinishChange:
    shop = shop_as_booked(unit, session, job)
    until = unit.shop(session).changes.finish_until
    waits = bool(open_findings(session, job.id))
    return FinishChange(
        job_id=job.id,
        last_event_id=last_event(session, job.id),
        sets=() if waits or not _may_change(job.state, until) else _sets(session, job, shop),
        until=until,
        fee=Money(shop.tariff.finish_change, job.currency),
        waits=waits,
    )


def finish_open(shop: Shop, state: JobState, declared: Declared, parts: Iterable[Any]) -> bool:
    """Return whether some colour or finish can be changed; `parts` are rows that are worked on."""
    if not _may_change(state, shop.changes.finish_until):
        return False
    rows = list(parts)
    closed = {row.set_key for row in rows if _was_in_booth(row)}
    keys = {row.set_key for row in rows} - closed
    return any(_has_colour(one) for one in declared.sets if one.key in keys)


def _may_change(state: JobState, until: FinishUntil) -> bool:
    if until is FinishUntil.NEVER:
        return False
    return state.is_expected or (until is FinishUntil.BOOTH and state.is_open)


def _was_in_booth(part: Any) -> bool:
    return bool(part.coats_done or part.stage.uses_powder)


def _has_colour(one: PartSet) -> bool:
    """Return whether a colour was chosen; one that is left to the samples is chosen at the door."""
    return one.finish is not None and not one.colour_open


def _sets(session: Session, job: Job, shop: Shop) -> tuple[OpenFinish, ...]:
    """Return the sets with a colour and no part that has been to the powder booth."""
    order = order_parts(session, job)
    in_booth = {part.number for part in parts_of(session, job.id) if _was_in_booth(part)}
    stock = dict(shop.stock)
    powders = {code: one for code, one in stock.items() if one.effect is not Effect.CLEAR}
    return tuple(
        OpenFinish(one, numbers, systems_for(one), powders, stock)
        for one in order.declared.sets
        if (numbers := order.numbers_of(one.key))
        and _has_colour(one)
        and not in_booth.intersection(numbers)
    )


def _difference(own: OpenFinish, choice: FinishChoice) -> Difference:
    wanted = own.made(choice)
    if wanted is None:
        raise Refused(NO_SUCH, key="colour")
    if wanted == own.own:
        raise Refused(Message("This is what you have ordered."), key="colour")
    return Difference(own.own.key, own.numbers, wanted, changed=("finish",))


def _impact(change: FinishChange, found: Difference, weighed: FindingImpact) -> FinishImpact:
    if weighed.refused:
        raise Refused(weighed.refused[0], key="colour")
    currency = change.fee.currency
    return FinishImpact(
        wanted=found.arrived,
        lines=weighed.lines,
        fee=change.fee,
        amount=Money(weighed.amount_minor, currency) + change.fee,
        total=Money(weighed.total_minor, currency) + change.fee,
        days=weighed.days,
        ready_at=weighed.ready_at,
        was_at=weighed.was_at,
    )
