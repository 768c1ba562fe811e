"""What a card on the floor shows before it is opened, in one word each."""

from portal.craft.titled import Titled
from portal.orders.production.groups import Group
from portal.shop.moves import JobState

MOST = 2


class Mark(Titled):
    """A word on a card; those that protect a part or a person come first."""

    BLAST_AGAIN = "blast_again", "blast again"
    COAT_SOON = "coat_soon", "coat soon"
    TEST = "test", "test first"
    NEVER = "never", "never …"
    PROBLEM = "problem", "problem"
    POWDER = "powder", "powder short"
    REWORK = "rework", "rework"
    NOTE = "note", "note"
    NOT_STARTED = "not_started", "not started"
    RUSH = "rush", "rush"

    @property
    def protects(self) -> bool:
        """Whether a part or a person is hurt when it is not seen."""
        return self in PROTECTING


PROTECTING = frozenset({Mark.BLAST_AGAIN, Mark.COAT_SOON, Mark.TEST, Mark.NEVER})


def marks_of(one: Group, *, short: bool = False, noted: bool = False) -> tuple[Mark, ...]:
    """Return the marks of a card, the most pressing first.

    `short` when its powder will not do, `noted` when staff left a note.
    """
    held = _holding(one, short=short, noted=noted)
    return tuple(mark for mark in Mark if held[mark])


def marks_shown(marks: tuple[Mark, ...]) -> tuple[Mark, ...]:
    """Return those that stand in the two lines: all that protect, and others up to `MOST`."""
    urgent = sum(mark.protects for mark in marks)
    return marks[: max(urgent, MOST)]


def _holding(one: Group, *, short: bool, noted: bool) -> dict[Mark, bool]:
    bare = one.bare
    return {
        Mark.BLAST_AGAIN: bare is not None and bare.over,
        Mark.COAT_SOON: bare is not None and bare.near and not bare.over,
        Mark.TEST: bool(one.tests),
        Mark.NEVER: bool(one.nevers),
        Mark.PROBLEM: one.flag is not None,
        Mark.POWDER: short,
        Mark.REWORK: any(part.back for part in one.parts),
        Mark.NOTE: noted,
        Mark.NOT_STARTED: one.state is JobState.RECEIVED,
        Mark.RUSH: one.rush,
    }
