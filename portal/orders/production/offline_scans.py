"""Offline scans of one person that another one sent: both names are recorded.

The move itself is recorded for the scanner; the sender is recorded in the audit log.
"""

from collections.abc import Mapping, Sequence

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.audit_log import record
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.shop.verbs import AuditVerb
from portal.store.tables import Person


def sent_for(
    unit: UnitOfWork, scans: Mapping[int | None, Sequence[str]], *, who: int
) -> tuple[Message, ...]:
    """Record that `who` sent these scans, by their scanner; return the message for `who`.

    None stands for an unknown scanner: such scans count for the sender.
    """
    others = {by: tags for by, tags in scans.items() if by != who and tags}
    if not others:
        return ()
    names = _write_down(unit, others, who)
    return tuple(
        Message(
            "{tags}: scanned by {name}, recorded under {name}.",
            tags=", ".join(tags),
            name=names[by],
        )
        if by is not None
        else Message(
            "{tags}: nobody was signed in at the scan, so it is recorded under your name.",
            tags=", ".join(tags),
        )
        for by, tags in others.items()
    )


@transactional
def _write_down(
    unit: UnitOfWork, session: Session, others: Mapping[int | None, Sequence[str]], who: int
) -> dict[int, str]:
    """Return the names of the scanners."""
    known = session.execute(sa.select(Person.id, Person.name).where(Person.id.in_(others)))
    names = {row.id: row.name for row in known}
    for by, tags in others.items():
        scanner = names[by] if by is not None else "?"
        record(session, unit.now(), who, AuditVerb.SEND_KEPT_SCANS, f"{scanner}: {', '.join(tags)}")
    return names
