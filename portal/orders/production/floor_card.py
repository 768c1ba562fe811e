"""A card of the floor with all that it shows: equal cards look the same, whenever they are made.

A page need not write a card again that it has written before. What changes with the clock alone
(how late, how long bare) is kept in days and hours, as the card shows it.
"""

from dataclasses import dataclass, replace
from datetime import datetime

from portal.orders.kernel.notes import NoteView
from portal.orders.production.groups import FloorPart, Group
from portal.orders.production.marks import Mark, marks_shown
from portal.shop.bare_metal import BareMetal


@dataclass(frozen=True, slots=True)
class PowderShort:
    """The powder of a set that will not do: what is left for it, and what it wants, in kg."""

    left_kg: float
    wants_kg: float


@dataclass(frozen=True, slots=True)
class BareTold:
    """How long a part has been bare, in whole hours, and until when it may be."""

    hours: int
    until: datetime | None
    over: bool
    near: bool


@dataclass(frozen=True, slots=True)
class FloorCard:
    """A group and what its card shows besides.

    `days_over` counts calendar days past the promise, None while it is to come; `bare` is of the
    part that is bare for longest; `too_old` are the parts that must be blasted again.
    """

    group: Group
    marks: tuple[Mark, ...]
    days_over: int | None
    bare: BareTold | None
    too_old: tuple[FloorPart, ...]
    short: PowderShort | None
    notes: tuple[NoteView, ...]

    def __hash__(self) -> int:
        """Hash which card it is: few look different at one station."""
        return hash((self.group.parts[0].id, self.group.stage))

    @property
    def over(self) -> bool:
        """Whether the promise is past."""
        return self.days_over is not None

    @property
    def shown_marks(self) -> tuple[Mark, ...]:
        """The marks that stand in its two lines."""
        return marks_shown(self.marks)


def floor_card(
    one: Group,
    *,
    marks: tuple[Mark, ...],
    days_over: int | None,
    short: PowderShort | None,
    notes: tuple[NoteView, ...],
) -> FloorCard:
    """Return the card of a group, without what it does not show."""
    shows_forecast = days_over is None and one.late
    return FloorCard(
        group=replace(
            one,
            forecast_at=one.forecast_at if shows_forecast else None,
            parts=tuple(_still(part) for part in one.parts),
        ),
        marks=marks,
        days_over=days_over,
        bare=bare_told(one.bare),
        too_old=tuple(_still(part) for part in one.parts if part.bare and part.bare.over),
        short=short,
        notes=notes,
    )


def _still(part: FloorPart) -> FloorPart:
    """Return a part without its clock."""
    return replace(part, bare=None) if part.bare else part


def bare_told(bare: BareMetal | None) -> BareTold | None:
    """Return how long a part has been bare as it is told."""
    return None if bare is None else BareTold(bare.hours, bare.until, bare.over, bare.near)
