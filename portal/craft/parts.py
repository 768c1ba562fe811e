"""The nouns that every rule of the trade shares: parts, sets, layers, finishes.

All lengths in mm, films in µm, masses in kg, temperatures in °C; rim codes in inches, as cast. An
enum member carries its title, so that a word is defined once.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated

from pydantic import BeforeValidator

from portal.craft.bringing import NewTyres, OwnCosts, Whereabouts
from portal.craft.check_kinds import Found
from portal.craft.hollow import Closed as Closed  # noqa: PLC0414  # shown to all who import parts
from portal.craft.hollow import Making as Making  # noqa: PLC0414  # as above
from portal.craft.looks import Effect as Effect  # noqa: PLC0414  # as above
from portal.craft.looks import Gloss as Gloss  # noqa: PLC0414  # as above
from portal.craft.looks import Usage as Usage  # noqa: PLC0414  # as above
from portal.craft.registration import Country, Permission
from portal.craft.schema import Flag, Once, Table, Text, longest, number, three_sides, whole
from portal.craft.titled import Titled as Titled  # noqa: PLC0414  # shown to all who import parts


class PartKind(Titled):
    """What a customer can bring."""

    WHEEL = "wheel", "Wheels"
    CALIPER = "caliper", "Brake calipers"
    BUMPER = "bumper", "Bumper or bull bar"
    TUBE = "tube", "Tube or bar"
    PLATE = "plate", "Plate or sheet"
    BOX = "box", "Box or cover"
    RAILING = "railing", "Railing or gate"
    FRAME = "frame", "Bicycle or motorcycle frame"
    CHAIR = "chair", "Garden chairs"
    TABLE = "table", "Garden tables"
    BENCH = "bench", "Garden benches"
    OTHER = "other", "Something else made of metal"


class Metal(Titled):
    """The base metal under all finishes."""

    CAST_ALUMINIUM = "cast_aluminium", "Cast aluminium"
    FORGED_ALUMINIUM = "forged_aluminium", "Forged aluminium"
    STEEL = "steel", "Steel"
    CAST_IRON = "cast_iron", "Cast iron"
    STAINLESS = "stainless", "Stainless steel"
    GALVANISED = "galvanised", "Galvanised steel"
    ZINC_DIECAST = "zinc_diecast", "Zinc die-cast (zamak)"
    MAGNESIUM = "magnesium", "Magnesium"
    CARBON = "carbon", "Carbon fibre"
    UNKNOWN = "unknown", "Don't know"


class WheelBuild(Titled):
    """How a wheel is made, as a customer can tell."""

    CAST = "cast", "Cast aluminium"
    FORGED = "forged", "Forged aluminium"
    STEEL = "steel", "Steel"
    MULTI_PIECE = "multi_piece", "Several pieces bolted together"
    MAGNESIUM = "magnesium", "Magnesium"
    CHROME_PLATED = "chrome_plated", "Chrome-plated"
    CARBON = "carbon", "Carbon fibre"
    UNKNOWN = "unknown", "Don't know"


class FaceStyle(Titled):
    """The face of a wheel: what is drawn and how open it is."""

    FEW_SPOKES = "few_spokes", "Five straight spokes"
    MANY_SPOKES = "many_spokes", "Many thin spokes"
    SPLIT_SPOKES = "split_spokes", "Split spokes"
    MESH = "mesh", "Mesh"
    TURBINE = "turbine", "Turbine"
    DEEP_DISH = "deep_dish", "Deep dish"
    STEEL_HOLES = "steel_holes", "Plain steel with holes"
    SOLID_DISC = "solid_disc", "Solid disc"


class Layer(Titled):
    """A finish that is on the part now."""

    FACTORY_PAINT = "factory_paint", "Original paint with clear coat"
    POWDER = "powder", "Powder coat"
    LIQUID_PAINT = "liquid_paint", "Liquid paint (brush, spray can, body shop)"
    PEELABLE = "peelable", "Peelable rubber coating"
    WRAP = "wrap", "Vinyl wrap"
    CHROME = "chrome", "Chrome plating"
    MACHINED = "machined", "Diamond-cut or polished face"
    GALVANISED = "galvanised", "Galvanising"
    BARE = "bare", "Bare metal"
    UNKNOWN = "unknown", "Don't know"


class Damage(Titled):
    """What has happened to the part."""

    KERB_RASH = "kerb_rash", "Kerb damage"
    CORROSION = "corrosion", "Corrosion or lifting clear coat"
    BEND = "bend", "A bend or dent"
    CRACK = "crack", "A crack"
    OLD_WELD = "old_weld", "A weld or repair"


class Item(Titled):
    """An item fitted to a part that may have to come off, outermost first."""

    TYRE = "tyre", "Tyre"
    WEIGHTS = "weights", "Wheel weights"
    VALVE = "valve", "Valve"
    SENSOR = "sensor", "Tyre-pressure sensor"
    CENTRE_CAP = "centre_cap", "Centre cap"
    LUG_COVERS = "lug_covers", "Wheel nut caps"
    SPACERS = "spacers", "Spacers or adapters"
    SPIGOT_RINGS = "spigot_rings", "Centring rings (spigot rings)"
    BADGES = "badges", "Badges and stickers"
    BEARINGS = "bearings", "Bearings"
    SEALS = "seals", "Seals and hydraulic parts"


class Remover(Titled):
    """Who removes an item."""

    YOU = "you", "You do"
    US = "us", "We do"
    STAYS = "stays", "Stays on"


class Bringing(Titled):
    """The three ways of bringing the parts."""

    BARE = "bare", "Parts only"
    COMPLETE = "complete", "Wheels with tyres"
    WHOLE_CAR = "whole_car", "The whole car"


class System(Titled):
    """A coat system: which coats make the finish."""

    SINGLE = "single", "Single coat"
    BASE_CLEAR = "base_clear", "Colour and clear coat"
    TRANSLUCENT = "translucent", "Translucent colour"
    CHROME_LOOK = "chrome_look", "Chrome look"
    TEXTURE = "texture", "Textured coat"
    MACHINED_CLEAR = "machined_clear", "Diamond-cut face"


class BareZone(Titled):
    """A surface that stays without powder."""

    HUB_FACE = "hub_face", "Hub face (back of the wheel)"
    HUB_BORE = "hub_bore", "Centre bore"
    LUG_SEATS = "lug_seats", "Nut or bolt seats"
    VALVE_HOLE = "valve_hole", "Valve hole and seat"
    BEAD_SEATS = "bead_seats", "Bead seats"
    CAP_GROOVE = "cap_groove", "Centre-cap groove"
    STAMPS = "stamps", "Identification stamps"
    THREADS = "threads", "Threads and tapped holes"
    SLIDING_FACES = "sliding_faces", "Pad and slide faces"


# a part longer than this fits no van; the oven's own size is checked by the appraisal
LONGEST_MM = 12_000
MOST_PARTS = 400
MOST_SETS = 20
LONGEST_WHAT = 60
LONGEST_HANG = 120
PowderCode = Annotated[Text, longest(16)]
Side = Annotated[float, number(0.5, LONGEST_MM)]


@dataclass(frozen=True, slots=True)
class Rim(Table):
    """A rim marking as understood. Codes are inches as cast, the rest mm."""

    diameter_code: Annotated[float, number(8, 30)]
    width_code: Annotated[float, number(1.5, 20)]
    flange: Annotated[Text, longest(4)] = "J"
    hump: Annotated[Text, longest(8)] = ""
    offset_mm: Annotated[float | None, number(-200, 200)] = None
    bolts: Annotated[int | None, whole(1, 12)] = None
    bolt_circle_mm: Annotated[float | None, number(50, 400)] = None
    bore_mm: Annotated[float | None, number(10, 400)] = None


@dataclass(frozen=True, slots=True)
class Tyre(Table):
    """A tyre marking as understood.

    `width_mm` is the nominal section width; `aspect` the ratio in percent (82 is assumed for the
    older full-profile form); flotation sizes carry `overall_in` and `width_in` instead, sizes whose
    width is a code in inches (5.60-15, 11R22.5) `width_in` alone.
    """

    rim_code: Annotated[float, number(8, 30)]
    width_mm: Annotated[float | None, number(80, 500)] = None
    aspect: Annotated[float | None, number(15, 105)] = None
    construction: Annotated[Text, longest(4)] = "R"
    prefix: Annotated[Text, longest(4)] = ""
    suffix: Annotated[Text, longest(4)] = ""
    load_index: Annotated[int | None, whole(0, 279)] = None
    dual_load_index: Annotated[int | None, whole(0, 279)] = None
    speed: Annotated[Text, longest(4)] = ""
    extra_load: Flag = False
    overall_in: Annotated[float | None, number(10, 60)] = None
    width_in: Annotated[float | None, number(1.5, 25)] = None


@dataclass(frozen=True, slots=True)
class Powder:
    """A powder as bought: what it looks like, how it is cured, how much is left.

    `lab` is CIELAB under D65; density in g/cm³ (= kg/dm³); film range in µm; cure as
    (part metal temperature °C, minutes at temperature); `stock_kg` and `box_kg` in kg;
    `lead_days` is how many working days a new box takes.
    """

    code: str
    name: str
    lab: tuple[float, float, float]
    gloss_gu: int
    effect: Effect = Effect.SOLID
    ral: str = ""
    density: float = 1.5
    film_um: tuple[int, int] = (60, 90)
    cure: tuple[int, int] = (180, 15)
    stock_kg: float = 0.0
    box_kg: float = 20.0
    lead_days: int = 5


@dataclass(frozen=True, slots=True)
class FinishChoice(Table):
    """What the customer wants on a set. Powder codes refer to the shop's list.

    `colour` is the top colour; `face` and `barrel` are other powders where they differ from it;
    the base under a translucent and the clear coat are chosen by the rules, not the customer.
    Who decides from samples at drop-off has no `colour` yet. Orders from before this was so may
    have both; then the colour counts.
    """

    system: System
    colour: PowderCode = ""
    gloss: Gloss = Gloss.GLOSS
    face: PowderCode = ""
    barrel: PowderCode = ""
    bare: Annotated[tuple[BareZone, ...], *Once] = ()
    decide_from_sample: Flag = False

    @property
    def colour_open(self) -> bool:
        """Whether the colour is decided from samples, and has not been yet."""
        return self.decide_from_sample and not self.colour

    @property
    def answered(self) -> bool:
        """Whether the customer has answered: with a colour, or by leaving it to the samples."""
        return bool(self.colour) or self.decide_from_sample


@dataclass(frozen=True, slots=True)
class PartSet(Table):
    """Parts that are finished alike. `size_mm` is rough length × width × height of one part.

    `what` is the part in the customer's words and `made` how it is built, both for parts that have
    no kind of their own; `closed` what is closed or sealed in it, empty while nobody has asked.
    `layers` stand outermost first; `yellow_to_red` is whether the old paint is yellow, orange or
    red; `found` what our own tests found, which no customer declares. `damaged` says how many parts
    have a damage where not all of them do, and `damaged_which` which ones, in the customer's words.
    `fitted` says what is on each part now, and `removers` who takes it off. `hang` is where they
    hang while they are coated, where another place than the usual one was agreed. `permission` is
    the wheel maker's, asked where a rule of a place makes it count. `key` is stable in one order.
    """

    key: Annotated[Text, longest(8)]
    kind: PartKind
    count: Annotated[int, whole(1, MOST_PARTS)]
    metal: Metal = Metal.UNKNOWN
    build: WheelBuild | None = None
    rim: Rim | None = None
    tyre: Tyre | None = None
    rim_text: Annotated[Text, longest(200)] = ""
    tyre_text: Annotated[Text, longest(200)] = ""
    face: FaceStyle | None = None
    size_mm: Annotated[tuple[Side, Side, Side] | None, BeforeValidator(three_sides)] = None
    what: Annotated[Text, longest(LONGEST_WHAT)] = ""
    made: Making = Making.UNKNOWN
    closed: Annotated[tuple[Closed, ...], *Once] = ()
    layers: Annotated[tuple[Layer, ...], *Once] = ()
    yellow_to_red: Flag = False
    found: Annotated[tuple[Found, ...], *Once] = ()
    damage: Annotated[tuple[Damage, ...], *Once] = ()
    damaged: Mapping[Damage, Annotated[int, whole(1, MOST_PARTS)]] = field(default_factory=dict)
    damaged_which: Annotated[Text, longest(120)] = ""
    fitted: Annotated[tuple[Item, ...], *Once] = ()
    removers: Mapping[Item, Remover] = field(default_factory=dict)
    new_tyres: NewTyres = NewTyres.SAME
    finish: FinishChoice | None = None
    note: Annotated[Text, longest(500)] = ""
    hang: Annotated[Text, longest(LONGEST_HANG)] = ""
    permission: Permission | None = None
    permission_paper: Annotated[Text, longest(60)] = ""

    def __hash__(self) -> int:
        """Hash what can be hashed; equal sets are equal in all of it."""
        return hash((self.key, self.kind, self.count, self.rim, self.layers, self.finish))

    @property
    def colour_open(self) -> bool:
        """Whether its colour is still to be decided from samples."""
        return self.finish is not None and self.finish.colour_open


@dataclass(frozen=True, slots=True)
class Declared(Table):
    """Everything that a customer has declared so far; `registered` is None for our country."""

    sets: Annotated[tuple[PartSet, ...], longest(MOST_SETS)] = ()
    bringing: Bringing | None = None
    whereabouts: Whereabouts | None = None
    own_costs: OwnCosts = field(default_factory=OwnCosts)
    rush: Flag = False
    original_before_1980: Flag = False
    usage: Usage | None = None
    registered: Country | None = None
    # the works fetches the parts and brings them back
    fetched: Flag = False
