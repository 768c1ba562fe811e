"""What the page of a change needs: the order with all that waits, and the finishes to choose."""

from collections.abc import Mapping
from dataclasses import dataclass

from sqlalchemy.orm import Session

from portal.craft.finishes import systems_for
from portal.craft.messages import Message
from portal.craft.parts import Effect, PartSet, Powder, System
from portal.orders.counter.job_parts import open_findings, order_with
from portal.orders.counter.more_parts import next_numbers
from portal.orders.kernel.errors import Unknown
from portal.orders.kernel.job_lock import load_job
from portal.orders.kernel.job_order import shop_as_booked
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.shop.pricing.order_parts import OrderParts


@dataclass(frozen=True, slots=True)
class ChangeOptions:
    """A set as it stands with all that waits for an answer, and what it can be changed to.

    `numbers` are its parts, `next_number` that of the next part that came beside them; `stock` are
    all powders, `powders` those that give a colour.
    """

    order: OrderParts
    own: PartSet
    numbers: tuple[int, ...]
    next_number: int
    systems: tuple[System, ...]
    powders: tuple[Powder, ...]
    stock: Mapping[str, Powder]


@read_only
def change_options(
    unit: UnitOfWork, session: Session, job_id: int, set_key: str, part: int = 0
) -> ChangeOptions:
    """Return the options of a set, or of the set of a part; Unknown where there is none."""
    job = load_job(session, job_id)
    order = order_with(session, job, open_findings(session, job_id))
    own = order.set_of(order.key_of.get(part, set_key))
    if own is None:
        raise Unknown(Message("We can't find this set."))
    stock = shop_as_booked(unit, session, job).stock
    return ChangeOptions(
        order=order,
        own=own,
        numbers=order.numbers_of(own.key),
        next_number=next_numbers(session, job_id, 1)[0],
        systems=systems_for(own),
        powders=tuple(one for one in stock.values() if one.effect is not Effect.CLEAR),
        stock=stock,
    )
