"""Small rules that only pages asked so far: links, bakes by number, days, classes."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import cache
from pathlib import Path

import pytest

from portal.craft.bakes import Bake, Schedule
from portal.craft.facts import rusts
from portal.craft.geometry import usual_longest_mm
from portal.craft.inspection import adhesion_classes
from portal.craft.message_json import from_json
from portal.craft.parts import Bringing, Declared, Gloss, Layer, Metal, PartKind, System
from portal.shop.assessment.assess import assess, assess_draft
from portal.shop.assessment.defaults import with_defaults
from portal.shop.codes import printed_link, status_link
from portal.shop.scheduling.bake_batches import bake_of, batch_of
from portal.shop.shop import Shop, read_shop
from tests.craft.shelf import part, wheels
from tests.readers import english

SEED = Path(__file__).resolve().parents[2] / "demo_seed"
TOKEN = "ABCDEFGHIJKLMNOPQRSTUVWX23"
ON = date(2026, 6, 1)


@cache
def shop() -> Shop:
    return read_shop(*((SEED / name).read_text("utf-8") for name in ("shop.toml", "powders.csv")))


def test_links_for_people_and_for_symbols() -> None:
    assert status_link("https://a.example.com/", TOKEN) == f"https://a.example.com/J/{TOKEN}"
    assert status_link("https://a.example.com", TOKEN) == f"https://a.example.com/J/{TOKEN}"
    assert printed_link("https://a.example.com/", TOKEN) == f"HTTPS://A.EXAMPLE.COM/J/{TOKEN}"
    # a path is not the same in capitals
    assert printed_link("https://example.com/pc/", TOKEN) == f"https://example.com/pc/J/{TOKEN}"


@pytest.mark.parametrize("bake", Bake)
@pytest.mark.parametrize(
    ("degrees", "minutes"), [(180, 15.0), (999, 1.0), (160, 120.0), (200, 7.5)]
)
def test_the_number_of_a_bake_names_it_again(bake: Bake, degrees: int, minutes: float) -> None:
    planned = Schedule(bake, degrees, minutes)
    whole = 8 if minutes == 7.5 else int(minutes)
    assert bake_of(batch_of(planned)) == Schedule(bake, degrees, whole)


@pytest.mark.parametrize(
    ("one", "metal_rusts"),
    [
        (part(PartKind.TUBE, metal=Metal.STEEL), True),
        (part(PartKind.TUBE, metal=Metal.CAST_IRON), True),
        (part(PartKind.TUBE, metal=Metal.UNKNOWN), True),
        (part(PartKind.TUBE, metal=Metal.STEEL, layers=(Layer.GALVANISED,)), True),
        (part(PartKind.TUBE, metal=Metal.STAINLESS), False),
        (part(PartKind.TUBE, metal=Metal.CAST_ALUMINIUM), False),
        (wheels(), False),
    ],
)
def test_which_metal_must_be_coated_sooner(one, metal_rusts: bool) -> None:
    rules = replace(shop().rules, coat_rusting_within_h=6.0, coat_within_h=30.0)
    assert rusts(one) is metal_rusts
    assert rules.coat_within(rusts=metal_rusts) == timedelta(hours=6 if metal_rusts else 30)


def test_the_lengths_that_are_plausible() -> None:
    assert usual_longest_mm(PartKind.CALIPER) == (120.0, 600.0)
    assert usual_longest_mm(PartKind.RAILING) == (300.0, 12000.0)
    assert usual_longest_mm(PartKind.WHEEL) == (0.0, 12000.0)


# ISO 2409, table 1, and ASTM D3359, method B: 5B is class 0, 0B is class 5 (from memory)
def test_the_classes_of_the_cross_cut_the_best_first() -> None:
    found = adhesion_classes()
    assert [(one.iso, one.astm) for one in found] == [(n, f"{5 - n}B") for n in range(6)]
    assert [one.accepted for one in found] == [True] + [False] * 5
    assert english(found[0].says) == "Edges smooth, nothing came off."


def test_a_word_of_the_trade_is_found_by_its_kind() -> None:
    kept = {"msgid": "{x}", "values": {"x": {"word": ["Gloss", "satin"]}}}
    assert from_json(kept).values["x"] is Gloss.SATIN
    kept["values"] = {"x": {"word": ["System", "single"]}}
    assert from_json(kept).values["x"] is System.SINGLE


def test_a_draft_is_assessed_with_the_usual_and_says_so() -> None:
    draft = Declared(sets=(wheels(finish=None, layers=(), fitted=()),))
    filled, said = with_defaults(draft, shop().practice, frozenset())
    found = assess_draft(draft, shop(), ON, frozenset())
    assert (found.declared, found.assumed) == (filled, said)
    assert found.assumed
    assert replace(found, assumed=()) == assess(filled, shop(), ON)
    told = assess_draft(draft, shop(), ON, frozenset({"A"}))
    assert told.declared.sets[0].fitted == ()
    assert assess(filled, shop(), ON).assumed == ()


def test_an_assessment_follows_its_order_its_shop_and_its_day() -> None:
    order = Declared(sets=(wheels(),), bringing=Bringing.COMPLETE)
    found = assess(order, shop(), ON)
    assert found.declared is order
    assert set(found.work) == {"A"}
    assert found.work["A"].minutes
    assert found.quote.total.minor > 0
    assert found.price.expected == found.quote.total


def test_the_day_of_a_moment_is_the_shops_own() -> None:
    late = datetime(2026, 6, 1, 23, 30, tzinfo=UTC)  # half past midnight in London
    assert shop().day(late) == date(2026, 6, 2)
    assert shop().day(datetime(2026, 12, 1, 23, 30, tzinfo=UTC)) == date(2026, 12, 1)
