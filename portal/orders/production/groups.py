"""Parts of one set at one station: what their card tells, and where they go next."""

from dataclasses import dataclass
from datetime import datetime

from portal.craft.answers import RouteKind
from portal.craft.check_kinds import CheckKind
from portal.craft.corners import Corner
from portal.craft.messages import Message
from portal.craft.never import Never
from portal.craft.parts import Damage
from portal.orders.kernel.work_card import Card, CardCoat
from portal.shop.bare_metal import BareMetal
from portal.shop.codes import shown
from portal.shop.moves import JobState
from portal.shop.pricing.quote_words import BUILDS
from portal.shop.route import PartStage

FEW_TAGS = 2


@dataclass(frozen=True, slots=True)
class FloorPart:
    """One part on the floor. `where` names its strip run or oven load; `back` a rework, if any."""

    id: int
    number: int
    tag: str
    label: Message
    reworks: int
    where: str
    since: datetime
    damage: tuple[Damage, ...] = ()
    bare: BareMetal | None = None
    corner: Corner | None = None
    tests: tuple[CheckKind, ...] = ()
    back: "SentBack | None" = None


@dataclass(frozen=True, slots=True)
class SentBack:
    """Why a part was sent back, and what the hands at the station where it stands do about it."""

    says: Message
    how: Message | None


@dataclass(frozen=True, slots=True)
class FloorBag:
    """A bag of small parts that came with a job, for the hands that put them back."""

    label: str
    contents: str
    lost: bool


@dataclass(frozen=True, slots=True)
class Group:
    """Parts of one set at one station: they are finished alike and move together.

    `pre_baked` when all of them were, or are, in a load for their pre-bake.
    """

    job_id: int
    code: str
    name: str
    state: JobState
    flag: Message | None
    promise_at: datetime
    forecast_at: datetime | None
    set_key: str
    set_size: int
    stage: PartStage
    coat_number: int
    coats: int
    next_stage: PartStage | None
    card: Card
    parts: tuple[FloorPart, ...]
    pre_baked: bool = False
    nevers: tuple[Never, ...] = ()
    rush: bool = False
    bags: tuple[FloorBag, ...] = ()

    @property
    def stripping(self) -> tuple[RouteKind, ...]:
        """How the old finish comes off."""
        return tuple(map(RouteKind, self.card.route))

    @property
    def build_note(self) -> Message | None:
        """What a wheel of its build is promised."""
        found = BUILDS.get(self.card.build) if self.card.build else None
        return found[1] if found else None

    @property
    def shown_code(self) -> str:
        """The code in groups."""
        return shown(self.code)

    @property
    def coat(self) -> CardCoat | None:
        """The coat that is due or on it now."""
        at = self.coat_number - 1
        return self.card.coats[at] if at < len(self.card.coats) else None

    @property
    def pre_bake_now(self) -> bool:
        """Whether it is to be pre-baked before its first coat."""
        wanted = self.card.pre_bake is not None and not self.pre_baked
        return wanted and self.stage.uses_powder and self.coat_number == 1

    @property
    def bare(self) -> BareMetal | None:
        """Which of its parts is bare for longest, and how long."""
        found = [part.bare for part in self.parts if part.bare]
        return min(found, key=lambda one: one.since, default=None)

    @property
    def late(self) -> bool:
        """Whether the forecast is past the promise."""
        return self.forecast_at is not None and self.forecast_at > self.promise_at

    def overdue(self, now: datetime) -> bool:
        """Tell whether its promise is past."""
        return self.promise_at < now

    @property
    def tags(self) -> str:
        """Its tags in a few characters: “189–192”, “101, 104”; empty where that can't be."""
        numbers = sorted(int(part.tag) for part in self.parts if part.tag.isdecimal())
        if len(numbers) < len(self.parts):
            return ""
        if len(numbers) > 1 and numbers[-1] - numbers[0] == len(numbers) - 1:
            return f"{numbers[0]}–{numbers[-1]}"
        return ", ".join(map(str, numbers)) if len(numbers) <= FEW_TAGS else ""

    @property
    def ids(self) -> tuple[int, ...]:
        """The ids of its parts."""
        return tuple(part.id for part in self.parts)

    @property
    def whole(self) -> bool:
        """Whether the whole set stands here together."""
        return len(self.parts) == self.set_size

    @property
    def tests(self) -> tuple[CheckKind, ...]:
        """The tests without which some of its parts can't go on to their next station."""
        own = {kind for part in self.parts for kind in part.tests}
        return tuple(kind for kind in CheckKind if kind in own)

    @property
    def held(self) -> bool:
        """Whether the parts move by another page: a load, a run, an inspection."""
        return not self.stage.left_by_scan or any(part.where for part in self.parts)


@dataclass(frozen=True, slots=True)
class Column:
    """One station with its groups, by priority."""

    stage: PartStage
    groups: tuple[Group, ...]

    @property
    def count(self) -> int:
        """How many parts stand here."""
        return sum(len(group.parts) for group in self.groups)
