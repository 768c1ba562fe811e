"""What the booth hears of a part whose finish the customer changed after the booking."""

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.colour_names import ColourName
from portal.craft.messages import Message
from portal.orders.kernel.work_card import read_card
from portal.shop.verbs import EventVerb
from portal.store.jobs import Part
from portal.store.moves import Move

# built once: building a statement costs more than running it
_CHANGED = (
    sa.select(Move.id)
    .where(Move.job_id == sa.bindparam("job_id"), Move.verb == EventVerb.FINISH)
    .limit(1)
)


def new_finish(session: Session, part: Part) -> list[Message]:
    """Return the colour of a part that goes to the booth where its paper tag may say another."""
    if not part.stage.uses_powder or session.scalar(_CHANGED, {"job_id": part.job_id}) is None:
        return []
    colour = ColourName(read_card(part.work).colour)
    return [Message("The customer changed the finish: now {colour}.", colour=colour)]
