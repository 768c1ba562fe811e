"""The route of a part: its stages in the order of work, one row each, and what follows from them.

Moves, rail, board, scans and the forecast are derived from these rows. Whoever must treat stages
differently asks the stage (`stage.is_gate`, `stage.is_before(other)`); a stage is named only
where its own meaning counts.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import pairwise, product

from portal.craft.messages import Message
from portal.craft.titled import Titled
from portal.shop.redo import Redo


class StageKind(StrEnum):
    """How parts get past a stage."""

    REST = "rest"  # nobody works on a part here: before the first station, and after the last
    QUEUE = "queue"  # parts wait for hands
    BATCH = "batch"  # parts wait for a load that they share: the oven
    CALENDAR = "calendar"  # parts leave the house, and come back by the calendar
    GATE = "gate"  # parts wait for hands, and only a verdict lets them go on


# truck wheel practice RP 240 (fleetequipmentmag.com): clean, lint-free, dry gloves once it is bare
GLOVES = Message("Clean, dry gloves. No bare hands on bare metal.")


class Fact(StrEnum):
    """What a card on the floor tells at a station besides whose parts they are."""

    COAT = "coat"
    CURE = "cure"
    FILM = "film"
    MASKS = "masks"
    DAMAGE = "damage"
    TYRES = "tyres"
    PRE_BAKE = "pre_bake"
    NEVER = "never"
    HANG = "hang"
    OFF = "off"
    BACK = "back"
    STRIPPING = "stripping"
    CORNER = "corner"
    MARK = "mark"


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """What the route knows of a stage.

    `button` moves parts here. `customer` says in plain words what is done there, under its name on
    the status page; a stage without it belongs to the stop of the stage before. `numbered` names
    its stops where a part gets several coats. `per_coat` stages are passed once a coat, `optional`
    ones by parts whose plan asks for it. From a `leaves_bare` stage parts come as bare metal, which
    is coated soon. `note` is what holds for every part there, on the board and on the station's
    label. `redo` has the kinds of rework that begin here, at the first such stage that the part
    passes. `since_later`: minutes a part in shops that set up their stations before this one came.
    """

    kind: StageKind = StageKind.QUEUE
    button: Message | None = None
    customer: Message | None = None
    numbered: tuple[Message, ...] = ()
    per_coat: bool = False
    optional: bool = False
    uses_powder: bool = False
    redo: frozenset[Redo] = frozenset()
    leaves_bare: bool = False
    note: Message | None = None
    tells: frozenset[Fact] = field(default_factory=frozenset)
    since_later: float | None = None


class PartStage(Titled):
    """Where a part stands. A two-coat part passes coat and cure twice; `coats_done` tells which.

    The value is stored, and printed on the station's label; the title is shown to all.
    """

    row: Row

    EXPECTED = "expected", "Not here yet", Row(kind=StageKind.REST)
    PREP = (
        "prep",
        "Prep",
        Row(
            button=Message("To Prep"),
            customer=Message("Small parts off"),
            tells=frozenset(
                {
                    Fact.OFF,
                    Fact.STRIPPING,
                    Fact.MASKS,
                    Fact.DAMAGE,
                    Fact.TYRES,
                    Fact.PRE_BAKE,
                    Fact.NEVER,
                }
            ),
        ),
    )
    STRIP = (
        "strip",
        "Strip",
        Row(
            kind=StageKind.CALENDAR,
            button=Message("To Strip"),
            customer=Message("Old paint off"),
            optional=True,
            redo=frozenset({Redo.BARE}),
            tells=frozenset({Fact.STRIPPING, Fact.NEVER}),
        ),
    )
    BLAST = (
        "blast",
        "Blast",
        Row(
            button=Message("To Blast"),
            customer=Message("Cleaned with grit"),
            redo=frozenset({Redo.BARE, Redo.BLAST}),
            leaves_bare=True,
            note=GLOVES,
            tells=frozenset({Fact.COAT, Fact.MASKS, Fact.DAMAGE, Fact.NEVER}),
        ),
    )
    COAT = (
        "coat",
        "Coat",
        Row(
            button=Message("To Coat"),
            customer=Message("Powder baked on"),
            numbered=(
                Message("First coat"),
                Message("Second coat"),
                Message("Third coat"),
                Message("Fourth coat"),
            ),
            per_coat=True,
            uses_powder=True,
            redo=frozenset({Redo.FURTHER_COAT, Redo.RUB_DOWN}),
            note=GLOVES,
            tells=frozenset({Fact.COAT, Fact.MASKS, Fact.HANG, Fact.PRE_BAKE}),
        ),
    )
    CURE = (
        "cure",
        "Cure",
        Row(
            kind=StageKind.BATCH,
            button=Message("To Cure"),
            per_coat=True,
            redo=frozenset({Redo.BAKE}),
            tells=frozenset({Fact.COAT, Fact.CURE, Fact.NEVER}),
        ),
    )
    INSPECT = (
        "inspect",
        "Inspect",
        Row(
            kind=StageKind.GATE,
            button=Message("To Inspect"),
            customer=Message("Every surface checked"),
            tells=frozenset({Fact.FILM, Fact.DAMAGE, Fact.MARK}),
        ),
    )
    REFIT = (
        "refit",
        "Refit",
        Row(
            button=Message("To Refit"),
            customer=Message("Small parts back on"),
            optional=True,
            tells=frozenset({Fact.BACK, Fact.TYRES, Fact.CORNER, Fact.MARK}),
        ),
    )
    DONE = "done", "Done", Row(kind=StageKind.REST, button=Message("To Done"))
    GONE = "gone", "Collected", Row(kind=StageKind.REST)

    def __new__(cls, value: str, title: str = "", row: Row = Row()) -> "PartStage":
        """Bind the shown title and the row to the stored value."""
        member = str.__new__(cls, value)
        member._value_ = value
        member.title = title
        member.row = row
        return member

    @property
    def is_station(self) -> bool:
        """Whether parts are worked on here."""
        return self.row.kind is not StageKind.REST

    @property
    def has_places(self) -> bool:
        """Whether parts wait here for a place; a calendar has none."""
        return self.is_station and not self.leaves_the_house

    @property
    def by_hand(self) -> bool:
        """Whether each part takes somebody's time here."""
        return self.row.kind in (StageKind.QUEUE, StageKind.GATE)

    @property
    def is_batch(self) -> bool:
        """Whether parts share a load here."""
        return self.row.kind is StageKind.BATCH

    @property
    def leaves_the_house(self) -> bool:
        """Whether parts are away while they stand here."""
        return self.row.kind is StageKind.CALENDAR

    @property
    def is_gate(self) -> bool:
        """Whether only a verdict lets a part go on."""
        return self.row.kind is StageKind.GATE

    @property
    def left_by_scan(self) -> bool:
        """Whether a scan or a tap alone moves a part on."""
        return self.row.kind in (StageKind.QUEUE, StageKind.CALENDAR)

    @property
    def scanned_to(self) -> bool:
        """Whether its label can be scanned before the tags: a station, or the end of work."""
        return self in SCANNED_TO

    @property
    def is_over(self) -> bool:
        """Whether the work on a part is done here."""
        return not self.is_station and LAST.is_before(self)

    @property
    def uses_powder(self) -> bool:
        """Whether powder is sprayed here, so that its colour counts."""
        return self.row.uses_powder

    @property
    def leaves_bare(self) -> bool:
        """Whether parts leave here as bare metal, which rusts or ages until it is coated."""
        return self.row.leaves_bare

    @property
    def ends_coat(self) -> bool:
        """Whether a part that leaves here has one coat more."""
        return self is EACH_COAT[-1]

    @property
    def may_be_reworked(self) -> bool:
        """Whether a part that stands here can be sent back: it may have a coat by now."""
        return BARED.is_before(self) and self is not PartStage.GONE

    @property
    def stop(self) -> "PartStage":
        """The stage at whose stop of the rail a part is seen: its own, or that of one before."""
        return STOP_OF[self]

    def is_before(self, other: "PartStage") -> bool:
        """Tell whether this stage comes before another one on the route."""
        return PLACE[self] < PLACE[other]

    def tells(self, fact: str) -> bool:
        """Tell whether cards on the floor tell a fact at this station."""
        return fact in self.row.tells


ROUTE = tuple(PartStage)
PLACE = {stage: n for n, stage in enumerate(ROUTE)}
STATIONS = tuple(stage for stage in ROUTE if stage.is_station)
# stations at which a part waits for a place; who leaves the house follows the calendar instead
QUEUED = tuple(stage for stage in STATIONS if stage.has_places)
FIRST, LAST = STATIONS[0], STATIONS[-1]
EACH_COAT = tuple(stage for stage in ROUTE if stage.row.per_coat)
# the last stage that leaves bare metal
BARED = next(stage for stage in reversed(ROUTE) if Redo.BARE in stage.row.redo)
# the three that have pages and records of their own: strip runs, oven loads, inspections
OUTSIDE, OVEN, INSPECTION = PartStage.STRIP, PartStage.CURE, PartStage.INSPECT
# where a part has become bare metal
BARING = tuple(stage for stage in ROUTE if stage.leaves_bare)
# what has a label to be scanned before the tags
SCANNED_TO = (*STATIONS, PartStage.DONE)
# what the floor shows: its stations, and what stands there finished
ON_THE_FLOOR = (*STATIONS, PartStage.DONE)


def _stops() -> dict[PartStage, PartStage]:
    found: dict[PartStage, PartStage] = {}
    stop = FIRST
    for stage in ROUTE:
        if stage.row.customer is not None or stage.is_over:
            stop = stage
        found[stage] = stop
    return found


@dataclass(frozen=True, slots=True)
class PartPlan:
    """Which stages this part needs: chemical strip or not, how many coats, refit work or not."""

    strip: bool
    coats: int
    refit: bool

    def asks_for(self, stage: PartStage) -> bool:
        """Tell whether the part passes a stage; of the optional ones the fields have the names."""
        if stage.row.per_coat:
            return self.coats > 0
        return not stage.row.optional or bool(getattr(self, stage.value))

    def stages(self) -> tuple[PartStage, ...]:
        """Return the stages in order, without rework."""
        way = [stage for stage, _ in ahead(PartStage.EXPECTED, self, 0)]
        return tuple(way[1:-1])


def next_stage(stage: PartStage, plan: PartPlan, coats_done: int) -> PartStage | None:
    """Return the stage after `stage` for a part with `coats_done` coats cured, or None at the end.

    `coats_done` counts coats whose cure has ended before this move; leaving the last stage of a
    coat counts one more.
    """
    again = stage.ends_coat and coats_done + 1 < plan.coats
    behind = EACH_COAT if again else ROUTE[PLACE[stage] + 1 :]
    return next((one for one in behind if plan.asks_for(one)), None)


def ahead(stage: PartStage, plan: PartPlan, coats_done: int) -> Iterator[tuple[PartStage, int]]:
    """Yield the stages from `stage` to the end, with the coats done on coming there."""
    at: PartStage | None = stage
    while at is not None:
        yield at, coats_done
        following = next_stage(at, plan, coats_done)
        coats_done += at.ends_coat
        at = following


STOP_OF = _stops()
# the stages from which a part can have come, whatever its plan
COMES_FROM: dict[PartStage, frozenset[PartStage]] = {
    stage: frozenset(
        before
        for strip, coats, refit in product((False, True), (1, 2), (False, True))
        for before, after in pairwise(PartPlan(strip, coats, refit).stages())
        if after is stage
    )
    for stage in ROUTE
}
