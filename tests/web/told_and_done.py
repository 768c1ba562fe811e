"""Where in the workshop each thing turns up that a customer is told: one row each.

A row names an order that is told it, and the place where somebody acts on it: a page and the words
there. "Told only" needs a reason. `test_told_and_done.py` reads the keys from the tables and the
code, so that a new one without a row fails, and renders every place.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from portal.shop.route import PartStage

Set = dict[str, Any]
BLACK = {"system": "single", "colour": "R9005-S", "gloss": "satin"}


@dataclass(frozen=True)
class Order:
    """What was declared; `more` are keys of the order as a whole.

    `practice` is how a works differs from the demo's that tells it, such as a smaller oven.
    """

    sets: tuple[Set, ...]
    bringing: str = "bare"
    more: Mapping[str, Any] = field(default_factory=dict)
    practice: Mapping[str, Any] = field(default_factory=dict)


def wheels(**more: Any) -> Set:
    usual = {
        "kind": "wheel",
        "count": 4,
        "build": "cast",
        "rim": "8Jx18 ET35 5x112",
        "layers": ["bare"],
        "finish": BLACK,
    }
    return usual | more


def part(kind: str, **more: Any) -> Set:
    usual = {
        "kind": kind,
        "count": 2,
        "metal": "steel",
        "size_mm": [900, 400, 60],
        "layers": ["bare"],
        "finish": BLACK,
    }
    return usual | more


def finished(system: str, colour: str, gloss: str = "gloss", **more: Any) -> Set:
    return {"system": system, "colour": colour, "gloss": gloss, **more}


@dataclass(frozen=True)
class Refused:
    """No such job comes to the workshop: the booking is refused."""


@dataclass(frozen=True)
class Accepted:
    """The customer's own words stand on the check-in and on the job page as accepted."""


@dataclass(frozen=True)
class AtTheDoor:
    """The words stand open on the check-in, beside the parts."""


@dataclass(frozen=True)
class Card:
    """The card on the board says `words` at a station."""

    stage: PartStage
    words: str


@dataclass(frozen=True)
class On:
    """A page of the job says `words`: check-in, slip, hand-back or refit guide."""

    page: str
    words: str


@dataclass(frozen=True)
class Check:
    """A line of work on the job page and on the slip: the title of the check."""

    title: str


@dataclass(frozen=True)
class ToldOnly:
    """There is nothing to do in the workshop, and why."""

    why: str


Place = Refused | Accepted | AtTheDoor | Card | On | Check | ToldOnly
Row = tuple[Order, Place]
PREP, STRIP, BLAST, COAT = PartStage.PREP, PartStage.STRIP, PartStage.BLAST, PartStage.COAT
REFIT = PartStage.REFIT
OURS = ["tyre", "weights", "valve", "sensor", "centre_cap"]
COMPLETE = Order(
    (wheels(fitted=OURS, removers=dict.fromkeys(OURS, "us")),),
    "complete",
)
IN_GERMANY = Order((wheels(),), more={"registered": "DE"})
ALLOWED = Order((wheels(permission="yes"),), more={"registered": "DE"})
IN_FRANCE = Order((wheels(),), more={"registered": "FR"})
LOOK = "how it looks: chosen by the customer, and the card at Coat names the powders"

CAUTIONS: dict[str, Row] = {
    # refused
    "crack": (Order((wheels(damage=["crack"]),)), Refused()),
    "weld": (Order((wheels(damage=["old_weld"]),)), Refused()),
    "bent_carrier": (Order((part("frame", damage=["bend"]),)), Refused()),
    "pressure": (Order((part("box", closed=["pressure"]),)), Refused()),
    "airbag": (Order((part("box", closed=["airbag"]),)), Refused()),
    "glued": (Order((part("box", closed=["glued"]),)), Refused()),
    "spring_acid": (Order((part("tube", closed=["spring"], layers=["chrome"]),)), Refused()),
    "metal": (Order((wheels(build="magnesium"),)), Refused()),
    "found_lead": (
        Order(
            (part("railing", layers=["liquid_paint"], found=["lead"]),),
            practice={"strips_lead": False},
        ),
        Refused(),
    ),
    "found_bent": (Order((wheels(found=["bent"]),)), Refused()),
    "found_sealed": (Order((part("tube", closed=["sealed_tube"], found=["sealed"]),)), Refused()),
    "found_no_certificate": (
        Order((part("box", closed=["tank"], found=["no_certificate"]),)),
        Refused(),
    ),
    "found_bore": (Order((part("caliper", metal="cast_iron", found=["bore"]),)), Refused()),
    "found_crack": (Order((part("railing", found=["crack"]),)), Refused()),
    "found_no_permission": (Order((wheels(found=["no_permission"]),)), Refused()),
    "found_pits": (Order((part("other", found=["pits"]),)), Refused()),
    "found_thin": (
        Order(
            (
                wheels(
                    layers=["machined"],
                    finish=finished("machined_clear", "R9005-G"),
                    found=["thin"],
                ),
            )
        ),
        Refused(),
    ),
    "stays_*": (Order((wheels(fitted=["tyre"], removers={"tyre": "stays"}),)), Refused()),
    "oven_size": (Order((part("railing", size_mm=[9000, 1000, 40]),)), Refused()),
    "oven_weight": (Order((part("plate", size_mm=[2000, 1400, 300]),)), Refused()),
    "heat": (Order((wheels(),), practice={"heat_limit_min_at_200": 1.0}), Refused()),
    "place_undecided": (IN_GERMANY, Refused()),
    "place_heat": (IN_GERMANY, Refused()),
    "place_areas": (IN_GERMANY, Refused()),
    "place_machining": (
        Order(
            (wheels(layers=["machined"], finish=finished("machined_clear", "R9005-G")),),
            more={"registered": "DE"},
        ),
        Refused(),
    ),
    # checked first
    "bend": (Order((wheels(damage=["bend"]),)), Check("Bend measured")),
    "crack_other": (
        Order((part("railing", damage=["crack"], closed=["none"]),)),
        Check("Crack repaired"),
    ),
    "weld_other": (
        Order((part("railing", damage=["old_weld"], closed=["none"]),)),
        Check("Look at the old weld"),
    ),
    "machined_again": (
        Order((wheels(layers=["machined"], finish=finished("machined_clear", "R9005-G")),)),
        Check("Metal to spare for diamond cutting"),
    ),
    "caliper_metal": (Order((part("caliper", metal="cast_iron"),)), Check("Look into the bores")),
    "spring_rust": (Order((part("tube", closed=["spring"]),)), Check("Look for rust pits")),
    "maybe_closed": (Order((part("box", closed=["unknown"]),)), Check("Look for closed parts")),
    "look_*": (Order((wheels(build="unknown"),)), Check("Metal check")),
    "heat_open": (
        Order((wheels(build="unknown"),), practice={"heat_limit_min_at_200": 0.1}),
        Check("Size and weight"),
    ),
    "oven_open": (
        Order(
            (part("chair", size_mm=None, closed=["none"]),),
            practice={"oven_mm": (300.0, 300.0, 300.0)},
        ),
        Check("Size and weight"),
    ),
    "old_paint": (
        Order((part("railing", layers=["liquid_paint"]),), more={"original_before_1980": True}),
        Check("Test for lead and chromate"),
    ),
    "place_permission": (ALLOWED, Check("The maker's permission")),
    "place_depth": (
        Order((wheels(damage=["kerb_rash"], permission="yes"),), more={"registered": "DE"}),
        Check("Damage and run-out measured"),
    ),
    "place_run_out": (
        Order((wheels(damage=["bend"], permission="yes"),), more={"registered": "DE"}),
        Check("Damage and run-out measured"),
    ),
    "lead_colours": (
        Order((part("railing", layers=["liquid_paint"], yellow_to_red=True),)),
        Check("Test for lead and chromate"),
    ),
    # of places
    "place_mark": (ALLOWED, Card(PartStage.INSPECT, "Mark each wheel inside")),
    "place_interfaces": (Order((wheels(),)), Card(BLAST, "Mask: Hub face")),
    "place_sensor": (
        Order(COMPLETE.sets, "complete", {"registered": "US"}),
        Card(REFIT, "Tyre-pressure sensor"),
    ),
    "place_registered": (
        IN_FRANCE,
        ToldOnly("whose rules count: the rules have rows of their own"),
    ),
    "place_none_known_*": (IN_FRANCE, Accepted()),
    # accepted
    "not_tested_alloy": (Order((wheels(),)), Accepted()),
    "not_tested": (Order((wheels(build="steel"),)), Accepted()),
    "multi_piece": (Order((wheels(build="multi_piece"),)), AtTheDoor()),
    "chrome_gone": (Order((wheels(build="chrome_plated", layers=["chrome"]),)), Accepted()),
    "machined_lost": (Order((wheels(layers=["machined"]),)), Accepted()),
    "kerb_rash": (Order((wheels(damage=["kerb_rash"]),)), Card(PREP, "Kerb damage")),
    "gas": (Order((part("box", metal="zinc_diecast"),)), Card(PREP, "Pre-bake")),
    "tank": (
        Order((part("box", closed=["tank"]),)),
        On("check-in", "see the gas-free certificate"),
    ),
    "sealed_tube": (
        Order((part("tube", closed=["sealed_tube"]),)),
        On("check-in", "see the vent hole"),
    ),
    "what_for": (Order((part("other", what="a bracket", closed=["none"]),)), Accepted()),
    "sealed": (Order((part("box"),)), AtTheDoor()),
    "spring": (Order((part("tube", closed=["spring"]),)), Accepted()),
    "maker_leave": (Order((part("caliper", metal="unknown"),)), Check("The maker's permission")),
    "empty_caliper": (Order((part("caliper", metal="cast_iron"),)), AtTheDoor()),
    "empty_frame": (Order((part("frame"),)), AtTheDoor()),
    "bearings_out": (Order((part("box", fitted=["bearings"], closed=["none"]),)), AtTheDoor()),
    "shade": (
        Order((wheels(build="steel", finish=finished("translucent", "KILN-T")),)),
        Accepted(),
    ),
    "lock_key": (
        Order((wheels(fitted=["tyre"]),), "whole_car"),
        On("slip", "the key for the locking wheel bolts"),
    ),
    "screen": (Order((wheels(),)), Accepted()),
    # good to know
    "same_car": (Order((wheels(),)), On("check-in", "A wheel must go back to its own vehicle.")),
    "sealant": (COMPLETE, ToldOnly("the customer tells us; a note stands at check-in")),
    "home_stripper": (Order((wheels(layers=["wrap"]),)), ToldOnly("a rule for home")),
    "peel_at_home": (Order((wheels(layers=["peelable"]),)), Card(PREP, "Peel by hand")),
    "chrome_look": (
        Order((wheels(build="steel", finish=finished("chrome_look", "MIRROR-C")),)),
        ToldOnly(LOOK),
    ),
    "metallic_open": (
        Order((wheels(finish=finished("single", "EMBER-S", "satin")),)),
        ToldOnly(LOOK),
    ),
    "sample": (
        Order((wheels(finish=finished("single", "", decide_from_sample=True)),)),
        On("check-in", "Choose it from the samples with the customer."),
    ),
    "few": (Order((wheels(count=2),)), ToldOnly("how it looks beside the other wheels")),
    "bent_other": (
        Order((part("box", damage=["bend"], closed=["none"]),)),
        Card(PREP, "A bend or dent"),
    ),
    "brake_gap_*": (Order((wheels(),)), ToldOnly("for whoever fits them: stands before booking")),
    "hanging_*": (Order((wheels(),)), Card(COAT, "Hang: Bolt hole or centre bore")),
}

# lines of the price, by key without its set
LINES: dict[str, Row] = {
    "off_car": (Order((wheels(fitted=["tyre"]),), "whole_car"), Card(REFIT, "car")),
    "fetching": (Order((wheels(),), more={"fetched": True}), On("check-in", "We fetch these")),
    "off.*": (COMPLETE, Card(PREP, "Take off:")),
    "on.*": (COMPLETE, Card(REFIT, "Put back:")),
    "new.*": (COMPLETE, Card(REFIT, "New sensor seal, washer, nut and core")),
    "strip.*": (
        Order((wheels(layers=["factory_paint"]),)),
        Card(PREP, "Old finish: Chemical stripping"),
    ),
    "strip.unknown": (Order((wheels(layers=["unknown"]),)), On("check-in", "Don't know")),
    "strip.chrome": (
        Order((wheels(build="unknown", layers=["unknown"]),)),
        On("check-in", "Don't know"),
    ),
    "repair.*": (Order((wheels(damage=["kerb_rash"]),)), Card(PREP, "Kerb damage")),
    "coat": (Order((wheels(),)), Card(COAT, "Jet black satin")),
    "build.*": (Order((wheels(build="multi_piece"),)), Card(PREP, "It comes to us taken apart.")),
    "finish": (
        Order((wheels(),)),
        ToldOnly("a span of the price while no finish is chosen; a booking has one"),
    ),
    "system.*": (
        Order((wheels(finish=finished("base_clear", "R9005-G")),)),
        Card(COAT, "Coat 1 of 2"),
    ),
    "effect.*": (
        Order((wheels(finish=finished("single", "EMBER-S", "satin")),)),
        Card(COAT, "Ember bronze"),
    ),
    "second.*": (
        Order((wheels(finish=finished("single", "R9005-G", face="R3020-G")),)),
        Card(COAT, "Coat 1 of 2"),
    ),
    "pre_bake": (Order((part("box", metal="zinc_diecast"),)), Card(PREP, "Pre-bake")),
    "pre_bake.open": (
        Order((part("box", metal="unknown", closed=["none"]),)),
        Check("Metal check"),
    ),
    "masking": (
        Order((part("box", closed=["none"]),)),
        Card(BLAST, "Mask: Threads and tapped holes"),
    ),
    "transport": (
        Order((wheels(layers=["factory_paint"]),)),
        Card(STRIP, "Chemical stripping"),
    ),
    "old_coating": (
        Order((part("railing", layers=["liquid_paint"]),), more={"original_before_1980": True}),
        Check("Test for lead and chromate"),
    ),
    "agreed": (Order((wheels(),)), ToldOnly("money alone: the sum that was agreed")),
    "rush": (Order((wheels(),), more={"rush": True}), Card(PREP, "rush")),
    "minimum": (Order((wheels(),)), ToldOnly("money alone")),
    "rounding": (Order((wheels(),)), ToldOnly("money alone")),
    "tax": (Order((wheels(),)), ToldOnly("money alone: the tax of a finding's difference")),
}
# what an order has besides: it is told on the slip, and asked for at the door
DEPOSIT: Row = (
    Order((wheels(), wheels(key="B", build="steel"))),
    On("check-in", "Deposit due now"),
)
