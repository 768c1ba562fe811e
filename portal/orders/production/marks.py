"""What a card on the floor shows before it is opened, in one word each."""

from collections.abc import Iterator

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


def marks_of(one: Group, *, short: bool = False) -> tuple[Mark, ...]:
    """Return the marks of a card, the most pressing first; `short` when its powder will not do."""
    return tuple(_marks(one, short=short))


def marks_shown(marks: tuple[Mark, ...]) -> tuple[Mark, ...]:
    """Return those that stand in the two lines: all that protect, and others up to `MOST`."""
    urgent = sum(mark.protects for mark in marks)
    return marks[: max(urgent, MOST)]


def _marks(one: Group, *, short: bool) -> Iterator[Mark]:
    if one.bare and one.bare.over:
        yield Mark.BLAST_AGAIN
    elif one.bare and one.bare.near:
        yield Mark.COAT_SOON
    if one.tests:
        yield Mark.TEST
    if one.nevers:
        yield Mark.NEVER
    if one.flag:
        yield Mark.PROBLEM
    if short:
        yield Mark.POWDER
    if any(part.back for part in one.parts):
        yield Mark.REWORK
    if one.state is JobState.RECEIVED:
        yield Mark.NOT_STARTED
    if one.rush:
        yield Mark.RUSH
