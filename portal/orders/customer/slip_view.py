"""The slip with its counter section, and the tags of a job's parts.

The customer's part and the tags bear no name, telephone or e-mail: paper gets lost. The counter's
section bears the name alone, for it stays at the counter.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.answers import Mask, Removal, SetAppraisal
from portal.craft.bringing import NewTyres
from portal.craft.check_kinds import CheckKind
from portal.craft.checks import check
from portal.craft.corners import Corner, to_mark
from portal.craft.hanging import HangAt, hang_at
from portal.craft.hollow import BEFORE_YOU_COME, LEAVE_OLD_PAINT
from portal.craft.messages import Message
from portal.craft.parts import Bringing, Item, PartSet, Remover
from portal.craft.quantities import UnitSystem
from portal.craft.safe_errands import IN_A_LINE, safe_errands
from portal.notices.calendar import DropOffEntry
from portal.orders.kernel.calendar_entries import drop_off_of
from portal.orders.kernel.job_links import behind
from portal.orders.kernel.job_lock import NOT_HERE
from portal.orders.kernel.job_order import order_of
from portal.orders.kernel.ledger import BALANCE, balance_of
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.orders.kernel.wording import LEFT_OPEN
from portal.shop.assessment.assess import Assessment
from portal.shop.codes import printed_link, shown, typed_link
from portal.shop.ledger import Balance
from portal.shop.money import Money, total
from portal.shop.moves import JobState
from portal.shop.pricing.quote import Quote
from portal.shop.pricing.quote_lines import QuoteLine
from portal.shop.pricing.statements import DateStatement, PriceStatement, date_of_job, price_of_job
from portal.shop.shop import Shop
from portal.store.jobs import Customer
from portal.store.tables import HardwareBag, Job, Part


@dataclass(frozen=True, slots=True)
class SlipPart:
    """One part on its paper tag; `colour` is empty while none is chosen.

    `corner` is where a wheel sat, None where nobody has noted it.
    """

    number: int
    label: Message
    set_key: str
    tag: str
    code: str
    colour: str
    masks: tuple[Mask, ...]
    corner: Corner | None = None


@dataclass(frozen=True, slots=True)
class SlipSet:
    """One set: what the customer ordered and what the counter looks at."""

    appraised: SetAppraisal
    numbers: tuple[int, ...]

    @property
    def part_set(self) -> PartSet:
        """The set as declared."""
        return self.appraised.part_set

    @property
    def checks(self) -> tuple[CheckKind, ...]:
        """Which checks its parts will have, beside those of advice alone."""
        return tuple(kind for kind in self.appraised.checks if check(kind).results)

    @property
    def hang(self) -> HangAt:
        """Where its parts hang while they are coated."""
        return hang_at(self.part_set.kind)

    @property
    def span(self) -> str:
        """The numbers of its parts: `1–4`, or `5`."""
        if not self.numbers:
            return "–"
        first, last = self.numbers[0], self.numbers[-1]
        return str(first) if first == last else f"{first}–{last}"

    @property
    def colour(self) -> str:
        """The name of the ordered colour."""
        finish, coats = self.part_set.finish, self.appraised.coats
        if finish is None or coats is None:
            return ""
        own = (c.powder.name for c in coats.coats if c.powder.code == finish.colour)
        return next(own, finish.colour)

    @property
    def ours(self) -> tuple[Removal, ...]:
        """What the shop removes, in the order of work."""
        return self._off_by(Remover.US)

    @property
    def yours(self) -> tuple[Removal, ...]:
        """What the customer removes, in the order of work."""
        return self._off_by(Remover.YOU)

    def _off_by(self, who: Remover) -> tuple[Removal, ...]:
        own = (one for one in self.appraised.removals if one.by(self.part_set) is who)
        return tuple(sorted(own, key=lambda one: one.order))


@dataclass(frozen=True, slots=True)
class Slip:
    """Everything on the slip. `link` is what the QR symbol holds, `address` the same to be
    typed: up to the token, and the token in groups.
    """

    token: str
    code: str
    shown_code: str
    name: str
    link: str
    address: tuple[str, str]
    state: JobState
    summary: Message
    bringing: Bringing | None
    dropoff_at: datetime
    dropoff_until: datetime
    promise_at: datetime
    date: DateStatement
    sets: tuple[SlipSet, ...]
    parts: tuple[SlipPart, ...]
    bags: tuple[tuple[str, str], ...]
    quote: Quote | None
    currency: str
    balance: Balance
    price: PriceStatement
    old_paint: bool
    to_mark: Message | None = None
    safety: tuple[Message, ...] = ()
    units: UnitSystem | None = None

    @property
    def part_sets(self) -> tuple[PartSet, ...]:
        """The sets as declared."""
        return tuple(one.part_set for one in self.sets)

    @property
    def by_set(self) -> tuple[tuple[SlipSet, Money], ...]:
        """What each set comes to, all its lines together."""
        lines = self.quote.lines if self.quote else ()
        return tuple(
            (one, total([n.amount for n in lines if n.set_key == one.part_set.key], self.currency))
            for one in self.sets
        )

    @property
    def other_lines(self) -> tuple[QuoteLine, ...]:
        """The lines of the price that belong to no set: transport, rush, rounding."""
        return tuple(one for one in self.quote.lines if not one.set_key) if self.quote else ()

    @property
    def over(self) -> bool:
        """Whether there is nothing to bring any more."""
        return self.state.is_off

    @property
    def new_tyres(self) -> int:
        """How many new tyres the customer brings for us to fit."""
        return sum(
            one.part_set.count
            for one in self.sets
            if one.part_set.new_tyres is NewTyres.BRING
            and any(removal.item is Item.TYRE for removal in one.ours)
        )

    @property
    def yours(self) -> tuple[tuple[Item, Removal], ...]:
        """What the customer takes off before coming, each item once."""
        found: dict[Item, Removal] = {}
        for one in self.sets:
            for removal in one.yours:
                found.setdefault(removal.item, removal)
        return tuple(found.items())

    @property
    def before(self) -> tuple[Message, ...]:
        """What else the customer does, or leaves alone, before coming; each once."""
        closed = [what for one in self.part_sets for what in one.closed]
        found = dict.fromkeys(BEFORE_YOU_COME[what] for what in closed if what in BEFORE_YOU_COME)
        mark = (self.to_mark,) if self.to_mark else ()
        return (*mark, *found, *((LEAVE_OLD_PAINT,) if self.old_paint else ()))


_JOB = (
    Job.id,
    Job.token,
    Job.code,
    Customer.name,
    Customer.units,
    Job.state,
    Job.summary,
    Job.declared,
    Job.assessed,
    Job.quote,
    *BALANCE,
    LEFT_OPEN,
    Job.booked_at,
    Job.dropoff_at,
    Job.dropoff_until,
    Job.promise_at,
    Job.expected_at,
    Job.expected_unless,
)
_PART = (Part.number, Part.label, Part.set_key, Part.tag, Part.arrived, Part.corner)


@read_only
def slip(unit: UnitOfWork, session: Session, token: str) -> Slip:
    """Return the slip of the job behind a link; raise Unknown for an invalid or expired link."""
    job = behind(session, token, unit.now(), *_JOB)
    # prices and powders as they were on the day of the booking
    shop = unit.shop(session, at=job.booked_at)
    parts = session.execute(
        sa.select(*_PART).where(Part.job_id == job.id).order_by(Part.number)
    ).all()
    bags = _bags(session, job.id)
    return _slip(unit, job, parts, bags, shop)


@read_only
def drop_off_behind(unit: UnitOfWork, session: Session, token: str) -> DropOffEntry:
    """Return the drop-off behind a link, as the letter of the booking has it."""
    job = behind(session, token, unit.now(), Job).Job
    return drop_off_of(job, unit.shop(session), unit.base_url)


def _slip(
    unit: UnitOfWork, job: Any, parts: Sequence[Any], bags: tuple[tuple[str, str], ...], shop: Shop
) -> Slip:
    here = [part for part in parts if part.arrived not in NOT_HERE]
    order = order_of(job, shop)
    sets = _sets(order, here)
    return Slip(
        token=job.token,
        code=job.code,
        shown_code=shown(job.code),
        name=job.name,
        link=printed_link(unit.base_url, job.token),
        address=typed_link(unit.base_url, job.token),
        state=job.state,
        summary=job.summary,
        bringing=order.declared.bringing,
        dropoff_at=job.dropoff_at,
        dropoff_until=job.dropoff_until,
        promise_at=job.promise_at,
        date=date_of_job(job.promise_at, job.expected_at, job.expected_unless, job.state),
        sets=sets,
        parts=tuple(_slip_part(row, job.code, sets) for row in here),
        bags=bags,
        quote=order.quote if job.quote else None,
        currency=job.currency,
        balance=balance_of(job),
        price=price_of_job(balance_of(job).total, job.left_open, job.state),
        old_paint=any(CheckKind.LEAD in one.checks for one in order.sets),
        to_mark=to_mark(order.declared),
        safety=tuple(IN_A_LINE[caution] for caution in safe_errands(order.declared)),
        units=job.units,
    )


def _bags(session: Session, job_id: int) -> tuple[tuple[str, str], ...]:
    query = sa.select(HardwareBag.label, HardwareBag.contents).where(HardwareBag.job_id == job_id)
    return tuple((row.label, row.contents) for row in session.execute(query.order_by("id")))


def _sets(order: Assessment, parts: Sequence[Any]) -> tuple[SlipSet, ...]:
    """The sets with as many parts as are expected or here: one not brought is not counted."""
    found = []
    for one in order.sets:
        numbers = tuple(p.number for p in parts if p.set_key == one.part_set.key)
        if numbers:
            counted = replace(one.part_set, count=len(numbers))
            found.append(SlipSet(replace(one, part_set=counted), numbers))
    return tuple(found)


def _slip_part(row: Any, code: str, sets: tuple[SlipSet, ...]) -> SlipPart:
    own = next((one for one in sets if one.part_set.key == row.set_key), None)
    return SlipPart(
        number=row.number,
        label=row.label,
        set_key=row.set_key,
        tag=row.tag or "",
        code=f"{code}-{row.number}",
        colour=own.colour if own else "",
        masks=own.appraised.masks if own else (),
        corner=row.corner,
    )
