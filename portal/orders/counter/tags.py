"""The shop's durable tags: which are free, which are in use and where."""

from dataclasses import dataclass

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.corners import Corner
from portal.craft.messages import Message
from portal.orders.kernel.errors import Refused, Unknown
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.codes import shown
from portal.shop.route import PartStage
from portal.shop.scans import tag_number
from portal.store.jobs import Job, Part, Tag

MOST_AT_ONCE = 500


@dataclass(frozen=True, slots=True)
class Worn:
    """A tag in use, where it is, and where its wheel sat."""

    number: str
    code: str
    part: int
    stage: PartStage
    corner: Corner | None

    @property
    def shown_code(self) -> str:
        """The code in groups."""
        return shown(self.code)


@dataclass(frozen=True, slots=True)
class TagsPage:
    """All tags: in use with their place, free, and retired."""

    worn: tuple[Worn, ...]
    free: tuple[str, ...]
    retired: tuple[str, ...]


@read_only
def tags(_unit: UnitOfWork, session: Session) -> TagsPage:
    """Return every tag that the shop owns."""
    query = (
        sa.select(Part.tag, Job.code, Part.number, Part.stage, Part.corner)
        .join(Job, Job.id == Part.job_id)
        .where(Part.tag.is_not(None))
    )
    worn = [
        Worn(tag or "", code, part, stage, corner)
        for tag, code, part, stage, corner in session.execute(query).all()
    ]
    in_use = {one.number for one in worn}
    rows = session.execute(sa.select(Tag.number, Tag.retired)).all()
    free = [number for number, retired in rows if not retired and number not in in_use]
    return TagsPage(
        worn=tuple(sorted(worn, key=lambda one: _as_number(one.number))),
        free=tuple(sorted(free, key=_as_number)),
        retired=tuple(sorted((n for n, retired in rows if retired), key=_as_number)),
    )


@transactional
def add_tags(_unit: UnitOfWork, session: Session, first: str, last: str) -> int:
    """Add the tags from `first` to `last`; return how many are new. A retired one comes back."""
    low, high = tag_number(first), tag_number(last or first)
    if not low:
        raise Refused(Message("That is not a tag number."), key="first")
    if not high or int(high) < int(low):
        raise Refused(Message("The last number must not be lower than the first."), key="last")
    if int(high) - int(low) >= MOST_AT_ONCE:
        raise Refused(Message("Add at most {most} at once.", most=MOST_AT_ONCE), key="last")

    new = 0
    for number in range(int(low), int(high) + 1):
        tag = session.get(Tag, str(number))
        if tag is None:
            session.add(Tag(number=str(number)))
            new += 1
        elif tag.retired:
            tag.retired = False
            new += 1
    return new


@transactional
def retire_tag(_unit: UnitOfWork, session: Session, typed: str) -> str:
    """Retire a tag that is lost or worn; one that a part wears is refused."""
    number = tag_number(typed)

    tag = session.get(Tag, number) if number else None
    if tag is None:
        raise Unknown(Message("“{typed}” is not one of our tags.", typed=typed[:20]), key="number")
    if session.scalar(sa.select(Part.id).where(Part.tag == number)) is not None:
        raise Refused(Message("Tag {tag} is in use. Take it off first.", tag=number), key="number")
    tag.retired = True
    return number


def _as_number(tag: str) -> tuple[int, str]:
    return (int(tag), "") if tag.isdecimal() else (0, tag)
