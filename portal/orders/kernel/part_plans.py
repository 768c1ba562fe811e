"""What the floor has to do on a part, written into its row when it is booked or changed."""

from portal.craft.answers import SetAppraisal
from portal.craft.parts import Remover
from portal.orders.kernel.work_card import CARD, write_card
from portal.shop.scheduling.stations import part_work, plan_of
from portal.shop.shop import Shop
from portal.store.jobs import Part


def give_work(part: Part, answer: SetAppraisal, shop: Shop, place: int = 0) -> None:
    """Write the stages, the minutes and the card of one part of an appraised set into its row.

    `place` is that of the part in its set, from 0: a damage may be on the first parts alone.
    """
    work = part_work(answer, shop.stations, refit=needs_refit(answer))
    plan = plan_of(work)
    part.coats, part.needs_strip, part.needs_refit = plan.coats, plan.strip, plan.refit
    part.work = {**work.to_dict(), CARD: write_card(answer, place)}


def needs_refit(answer: SetAppraisal) -> bool:
    """Whether the shop took something off that it puts on again."""
    return any(one.back and one.by(answer.part_set) is Remover.US for one in answer.removals)
