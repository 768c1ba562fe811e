"""Whether a job still waits for a colour that its customer chooses from samples."""

from sqlalchemy.orm import Session

from portal.craft.declared import read_declared
from portal.craft.messages import Message
from portal.craft.parts import PartSet
from portal.orders.kernel.job_lock import parts_in_production, parts_of
from portal.store.jobs import Job

CHOOSE_FIRST = Message("Choose the colour with the customer first.")


def open_colours(session: Session, job: Job) -> tuple[PartSet, ...]:
    """Return the sets whose colour nobody has chosen yet and whose parts are to be coated."""
    sets = tuple(one for one in read_declared(job.declared).sets if one.colour_open)
    if not sets:
        return ()
    wanted = {part.set_key for part in parts_in_production(parts_of(session, job.id))}
    return tuple(one for one in sets if one.key in wanted)
