"""The results of the trade's rules, on which every quote and page is built.

Areas in m², lengths in mm, films in µm, masses in kg, temperatures in °C, times as named.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from portal.craft.check_kinds import CheckKind
from portal.craft.looks import CoatRole
from portal.craft.messages import Message
from portal.craft.parts import (
    BareZone,
    Bringing,
    Damage,
    Item,
    PartSet,
    Powder,
    Remover,
    System,
    Titled,
)

COMMON_PRACTICE = Message("General practice in the trade")


@dataclass(frozen=True, slots=True)
class Surface:
    """One part: coated area, its relative uncertainty (0.15 = ±15 %), oven envelope and mass."""

    area_m2: float
    uncertainty: float
    envelope_mm: tuple[float, float, float]
    mass_kg: float
    assumed: tuple[Message, ...] = ()


class RouteKind(Titled):
    """How an old finish is removed."""

    NOTHING = "nothing", "Nothing to strip"
    PEEL = "peel", "Peel by hand"
    BLAST = "blast", "Blasting"
    CHEMICAL = "chemical", "Chemical stripping at a partner company"
    DEPLATE = "deplate", "Chrome stripping by a specialist"
    LICENSED = "licensed", "Lead paint stripping, by a licensed company"
    NOT_HERE = "not_here", "We don't do this"


@dataclass(frozen=True, slots=True)
class StripRoute:
    """How the layers of one set are removed.

    `kinds` in the order of work; `bench_minutes` and `blast_minutes` per part; `outside` when the
    parts leave the house (a strip run), `outside_days` working days away.
    """

    kinds: tuple[RouteKind, ...]
    bench_minutes: float
    blast_minutes: float
    outside: bool
    outside_days: int
    why: tuple[Message, ...]
    forbids: tuple[Message, ...]
    leaves: tuple[Message, ...]
    refused: Message | None = None
    to_inspect: tuple[Message, ...] = ()


class NewPart(Titled):
    """Small parts that are replaced on refit."""

    VALVE = "valve", "New valve"
    SENSOR_SEAL = "sensor_seal", "New sensor seal, washer, nut and core"
    CORE = "core", "New valve core and cap"
    WEIGHTS = "weights", "New balance weights"
    SEAL_KIT = "seal_kit", "New seal kit"
    BADGE = "badge", "New badge or sticker"


def remover_of(part_set: PartSet, item: Item, who_may: Sequence[Remover]) -> Remover:
    """Return who removes an item: the customer's choice where it is allowed, else the default."""
    chosen = part_set.removers.get(item)
    if chosen is not None and chosen in who_may:
        return chosen
    return who_may[0] if who_may else Remover.STAYS


@dataclass(frozen=True, slots=True)
class Removal:
    """One fitted item: must it come off, why, with what, by whom, and what happens to it.

    `order` counts from 1 in the order of work; `who_may` lists the choices, the default first.
    `step` is what to do; `home` is what a customer should not do at home, and why. `minutes` is the
    shop's bench time per part for taking it off; `before` is what must be done before this step, on
    the first one only. `short` is the reason in a few words; `back` tells whether the shop puts it
    on again where it took it off.
    """

    item: Item
    must: bool
    order: int
    why: tuple[Message, ...]
    tool: Message
    step: Message
    happens: Message
    who_may: tuple[Remover, ...]
    home: Message | None = None
    new_parts: tuple[NewPart, ...] = ()
    minutes: float = 0.0
    source: Message = COMMON_PRACTICE
    before: Message | None = None
    short: Message | None = None
    back: bool = True

    def by(self, part_set: PartSet) -> Remover:
        """Return who removes it: the customer's choice where it is allowed, else the default."""
        return remover_of(part_set, self.item, self.who_may)


@dataclass(frozen=True, slots=True)
class Coat:
    """One coat of a plan: the powder, its film range and its cure at part metal temperature.

    `share` is the part of the area that this coat covers; `full_cure` False means a part cure
    that the next coat completes.
    """

    role: CoatRole
    powder: Powder
    film_um: tuple[int, int]
    cure_c: int
    cure_min: float
    full_cure: bool = True
    share: float = 1.0


@dataclass(frozen=True, slots=True)
class CoatPlan:
    """The coats of one set, in order, with the film they add up to and the gloss of the top."""

    system: System
    coats: tuple[Coat, ...]
    film_um: tuple[int, int]
    gloss_gu: tuple[int, int]
    pre_bake: tuple[int, float] | None = None
    said: tuple[Message, ...] = ()


@dataclass(frozen=True, slots=True)
class PowderNeed:
    """Powder for one coat of a whole set, and whether the stock is enough."""

    powder: Powder
    kg: float
    boxes_to_buy: int
    wait_days: int
    said: Message


@dataclass(frozen=True, slots=True)
class Heat:
    """The effect of all bakes on one part: minutes at temperature, and the shop's limit.

    `hardness_loss` is our own interpolation, rounded up to whole percents, and says nothing about
    fatigue life. `warm_up_min` is how long one part takes to get hot before the clock of a cure
    starts. `assumed` means that the metal or the mass is a guess.
    """

    bakes: tuple[tuple[Message, int, float], ...]
    equivalent_min_at_200: float
    limit_min_at_200: float
    hardness_loss: float | None
    allowed: bool
    said: tuple[Message, ...]
    warm_up_min: float = 0.0
    assumed: bool = False


@dataclass(frozen=True, slots=True)
class Mask:
    """A surface to be masked or kept bare, with the clearance that a film would leave."""

    zone: BareZone
    why: Message
    clearance_mm: float | None = None
    source: Message = COMMON_PRACTICE


@dataclass(frozen=True, slots=True)
class PlaceRule:
    """A rule or published guidance of a place; `date` is that of the rule, in words.

    `needs_decision` is true where it is against the job: the shop records its decision before it
    books. `inspect` is true where something is measured first.
    """

    key: str
    says: Message
    source: Message
    date: str
    needs_decision: bool
    inspect: bool = False
    instead: Message | None = None


class CautionKind(Titled):
    """What a caution asks for."""

    REFUSE = "refuse", "We can't coat this"
    PLACE = "place", "A rule against this work"
    INSPECT = "inspect", "We check this first"
    CONFIRM = "confirm", "Please confirm"
    TELL = "tell", "Good to know"


class About(Titled):
    """What a caution is about, and so where the customer can change it."""

    PART = "part", "The part"
    STATE = "state", "Old finish"
    ITEMS = "items", "What comes off"
    FINISH = "finish", "The finish"
    PLACE = "place", "Rules of the country"
    ORDER = "order", "The whole order"


@dataclass(frozen=True, slots=True)
class Caution:
    """A refusal, an inspection, or a thing to confirm, with its reason, a way on and its source.

    `parts` is how many parts of the set it concerns, where these are not all; `damage` is the
    damage they have.
    """

    key: str
    kind: CautionKind
    says: Message
    instead: Message | None = None
    source: Message = COMMON_PRACTICE
    about: About = About.PART
    parts: int | None = None
    damage: Damage | None = None


# what stands in the way of a booking: what isn't taken, and a rule that nobody has decided on
BLOCKING = frozenset({CautionKind.REFUSE, CautionKind.PLACE})


@dataclass(frozen=True, slots=True)
class RefitStep:
    """One step of the guide after pickup; `caution` where somebody can be hurt."""

    key: str
    title: Message
    says: Message
    caution: bool = False
    source: Message = COMMON_PRACTICE


@dataclass(frozen=True, slots=True)
class SetAppraisal:
    """Everything the trade's rules find about one set. `coats` is None until a finish is chosen.

    While the colour is left to the samples, `possible` has the whole appraisal of each finish that
    it can become, the plainest in stock first; `needs` then has what all of them need. `checks` are
    the lines of work that follow from what was told (`craft.checks`).
    """

    part_set: PartSet
    surface: Surface | None
    route: StripRoute
    removals: tuple[Removal, ...]
    coats: CoatPlan | None
    needs: tuple[PowderNeed, ...]
    masks: tuple[Mask, ...]
    heat: Heat | None
    cautions: tuple[Caution, ...]
    possible: tuple["SetAppraisal", ...] = ()
    checks: tuple[CheckKind, ...] = ()

    @property
    def powder_days(self) -> int:
        """Working days until the powders that are known today arrive."""
        return max((need.wait_days for need in self.needs), default=0)

    @property
    def sample_days(self) -> int:
        """Working days that a colour chosen from samples can take to arrive, counted from then."""
        return max((one.powder_days for one in self.possible), default=0)

    @property
    def refitted(self) -> bool:
        """Whether the shop takes something off that it puts on again."""
        return any(one.back and one.by(self.part_set) is Remover.US for one in self.removals)

    @property
    def refused(self) -> tuple[Caution, ...]:
        """What blocks the booking of this set: see `BLOCKING`."""
        return tuple(c for c in self.cautions if c.kind in BLOCKING)

    @property
    def refused_damage(self) -> tuple[Damage, ...]:
        """The damage for which parts of this set are refused, while others of it are accepted."""
        return tuple(c.damage for c in self.refused if c.damage and c.parts is not None)


@dataclass(frozen=True, slots=True)
class Appraisal:
    """The appraisal of a whole order, set by set, with the cautions that concern it as a whole."""

    sets: tuple[SetAppraisal, ...]
    cautions: tuple[Caution, ...]
    bringing: Bringing | None

    @property
    def refused(self) -> tuple[Caution, ...]:
        """Everything that blocks the booking."""
        own = tuple(c for c in self.cautions if c.kind in BLOCKING)
        return own + tuple(c for s in self.sets for c in s.refused)

    @property
    def outside_days(self) -> int:
        """Working days that the longest outside strip takes."""
        return max((s.route.outside_days for s in self.sets if s.route.outside), default=0)

    @property
    def powder_days(self) -> int:
        """Working days until every powder that is known today is here."""
        return max((one.powder_days for one in self.sets), default=0)

    @property
    def sample_days(self) -> int:
        """Working days that colours chosen from samples can take to come, counted from then."""
        return max((one.sample_days for one in self.sets), default=0)

    def cautions_of(self, *kinds: CautionKind) -> tuple[Caution, ...]:
        """Return the cautions of these kinds, kind by kind, each once however many sets it has."""
        every = (*self.cautions, *(c for s in self.sets for c in s.cautions))
        found: dict[tuple[CautionKind, str], Caution] = {}
        for kind in kinds:
            for one in every:
                if one.kind is kind:
                    found.setdefault((kind, one.key), one)
        return tuple(found.values())
