"""The floor in one look: stations with their bunches, what comes next, what is in the way."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.never import Never
from portal.orders.kernel.notes import NoteView, notes_of
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.orders.production.board_view import columns_of
from portal.orders.production.bunches import Bunch, batches, bunched
from portal.orders.production.floor_card import FloorCard, PowderShort, floor_card
from portal.orders.production.groups import Column, Group
from portal.orders.production.marks import Mark, marks_of
from portal.orders.production.next_up import NextThing, next_up
from portal.shop.calendar.week import Week
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.shop.shop import Shop
from portal.store.floor import PowderRow

# a stop that begins so soon is told beforehand
AHEAD = timedelta(days=1)
# up to so many jobs nothing on their cards is cut off
ROOMY_JOBS = 24


@dataclass(frozen=True, slots=True)
class Down:
    """A station out of order, from when to when; `now` whether it is already."""

    start: datetime
    end: datetime
    now: bool


@dataclass(frozen=True, slots=True)
class StationView:
    """One station: its bunches by priority, and whether it is out of order."""

    stage: PartStage
    column: Column
    bunches: tuple[Bunch, ...]
    down: Down | None

    @property
    def count(self) -> int:
        """How many parts stand here."""
        return self.column.count

    @property
    def nevers(self) -> tuple[Never, ...]:
        """What must never be done to any of the parts here."""
        every = [set(group.nevers) for group in self.column.groups]
        return tuple(one for one in Never if every and all(one in own for own in every))


@dataclass(frozen=True, slots=True)
class FloorView:
    """The whole floor at one moment. `short` is by the first part of a group."""

    now: datetime
    stations: tuple[StationView, ...]
    next_up: tuple[NextThing, ...]
    short: Mapping[int, PowderShort]
    week: Week
    notes: Mapping[int, tuple[NoteView, ...]]

    @property
    def columns(self) -> tuple[Column, ...]:
        """The stations' groups without their heads."""
        return tuple(one.column for one in self.stations)

    @property
    def groups(self) -> tuple[Group, ...]:
        """Every group, station by station."""
        return tuple(group for column in self.columns for group in column.groups)

    @property
    def roomy(self) -> bool:
        """Whether few enough jobs are here for their cards to take a third line."""
        return self.jobs <= ROOMY_JOBS

    @property
    def jobs(self) -> int:
        """How many jobs are on the floor."""
        return len({group.job_id for group in self.groups})

    @property
    def parts(self) -> int:
        """How many parts are on the floor."""
        return sum(column.count for column in self.columns)

    @property
    def overdue(self) -> int:
        """How many jobs are past their promise."""
        return len({one.job_id for one in self.groups if one.overdue(self.now)})

    @property
    def late(self) -> int:
        """How many jobs are expected after their promise, which is still to come."""
        return len({one.job_id for one in self.groups if one.late and not one.overdue(self.now)})

    @property
    def waiting(self) -> int:
        """How many jobs wait for their customer."""
        return len({one.job_id for one in self.groups if one.state is JobState.WAITING})

    def marks(self, one: Group) -> tuple[Mark, ...]:
        """Return the marks of a card, the most pressing first."""
        return marks_of(one, short=one.parts[0].id in self.short, noted=bool(self.notes_at(one)))

    def notes_at(self, one: Group) -> tuple[NoteView, ...]:
        """Return the staff's notes that matter where a set stands."""
        return tuple(note for note in self.notes.get(one.job_id, ()) if note.told_at(one.stage))

    def card(self, one: Group) -> FloorCard:
        """Return a group's card as it is shown."""
        return floor_card(
            one,
            marks=self.marks(one),
            days_over=self.days_over(one),
            short=self.short.get(one.parts[0].id),
            notes=self.notes_at(one),
        )

    def days_over(self, one: Group) -> int | None:
        """Return by how many calendar days of the shop a promise is past; 0 on its day.

        None while it is to come.
        """
        if not one.overdue(self.now):
            return None
        return (self.week.local(self.now).date() - self.week.local(one.promise_at).date()).days


@read_only
def floor_view(unit: UnitOfWork, session: Session) -> FloorView:
    """Return the floor as its page shows it."""
    now, shop = unit.now(), unit.shop(session)
    under_way = batches(session)
    columns = columns_of(unit, session)
    heads = [(one, bunched(one.stage, one.groups, under_way)) for one in columns]
    down = stopped(shop, now)
    return FloorView(
        now,
        tuple(
            StationView(column.stage, column, bunches, down.get(column.stage))
            for column, bunches in heads
        ),
        next_up(heads, under_way, shop.week, now),
        powder_short(session, columns),
        shop.week,
        notes_of(session, sorted({group.job_id for one in columns for group in one.groups})),
    )


def stopped(shop: Shop, now: datetime) -> dict[PartStage, Down]:
    """Return the stations that are out of order now or within a day, each with its next span."""
    found: dict[PartStage, Down] = {}
    for station in shop.stations.by_key:
        spans = sorted(one for one in station.down if one[1] > now and one[0] < now + AHEAD)
        if spans:
            start, end = spans[0]
            found[station.key] = Down(start, end, start <= now)
    return found


def powder_short(session: Session, columns: Sequence[Column]) -> dict[int, PowderShort]:
    """Return the sets whose powder will not do, in the order in which they take from it."""
    takers = [
        (group, group.coat)
        for column in columns
        if column.stage.uses_powder
        for group in column.groups
        if group.coat and group.coat.grams
    ]
    stock = _stock(session, {coat.powder_code for _, coat in takers})
    found: dict[int, PowderShort] = {}
    for group, coat in takers:
        if coat.powder_code not in stock:
            continue  # renamed since the order: nothing is known of its stock
        left, wants = stock[coat.powder_code], coat.grams * len(group.parts)
        if wants > left:
            found[group.parts[0].id] = PowderShort(max(0, left) / 1000, wants / 1000)
        stock[coat.powder_code] = left - wants
    return found


# built once: building a statement costs more than running it
_STOCK = sa.select(PowderRow.code, PowderRow.stock_g).where(
    PowderRow.code.in_(sa.bindparam("codes", expanding=True))
)


def _stock(session: Session, codes: set[str]) -> dict[str, int]:
    return {row.code: row.stock_g for row in session.execute(_STOCK, {"codes": sorted(codes)})}
