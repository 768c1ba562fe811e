"""The office records that the maker of a part allows more heat than the shop's limit, and why."""

from sqlalchemy.orm import Session

from portal.craft.heat import REFERENCE_C
from portal.craft.messages import Message
from portal.craft.quantities import celsius
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.job_lock import load_part, lock_job, not_now, record_event
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.orders.production.part_heat import heat_of_part
from portal.shop.verbs import EventVerb

LONGEST = 300
MOST_MIN = 1000  # beyond this a figure is a typing mistake: no wheel has its strength left


@transactional
@idempotent("heat_leave", answer="event")
def record_leave(  # noqa: PLR0913  # what the maker said, all named
    unit: UnitOfWork,
    session: Session,
    part_id: int,
    *,
    up_to: int,
    maker: str,
    why: str,
    once_token: str,  # taken by the decorator
    who: int | None,
) -> int:
    """Record the maker's permission for one part; return the number of its event.

    `up_to` is the heat that all bakes together may reach, in minutes at 200 °C.
    """
    by, reason = " ".join(maker.split()), " ".join(why.split())
    part = load_part(session, part_id)
    job = lock_job(session, part.job_id)
    if not job.state.is_in_house:
        raise Refused(not_now(job.state))
    heat = heat_of_part(session, unit.shop(session), part_id, unit.now())
    if heat.limit is None:
        raise Refused(Message("This part needs no leave: heat doesn't soften its metal."))
    for key, text, empty in (
        ("maker", by, Message("Enter who at the maker allowed it, and when.")),
        ("why", reason, Message("Enter why it needs more heat.")),
    ):
        if not text:
            raise Refused(empty, key=key)
        if len(text) > LONGEST:
            raise Refused(Message("Use at most {most} characters.", most=LONGEST), key=key)
    if not heat.limit < up_to <= MOST_MIN:
        raise Refused(
            Message(
                "Enter a figure above {limit} and up to {most}.",
                limit=int(heat.limit),
                most=MOST_MIN,
            ),
            key="up_to",
        )
    return record_event(
        session,
        job,
        EventVerb.HEAT_LEAVE,
        at=unit.now(),
        who=who,
        part_id=part_id,
        note=reason,
        says=Message(
            "up to {minutes} minutes at {heat}; allowed by: {maker}; why: {why}",
            minutes=up_to,
            heat=celsius(REFERENCE_C),
            maker=by,
            why=reason,
        ),
        data={"up_to": up_to, "maker": by},
    )
