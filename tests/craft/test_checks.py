"""Which checks an order needs, what stops on them, and what may come of them."""

import pytest

from portal.craft.answers import CautionKind, RouteKind
from portal.craft.appraise import Practice, appraise
from portal.craft.check_kinds import CheckKind, CheckResult, Found
from portal.craft.checks import as_found, check, on_part
from portal.craft.declared import read_declared
from portal.craft.facts import base_metal
from portal.craft.parts import Damage, Layer, Metal, PartSet
from portal.craft.tables import toml_table
from portal.shop.found_words import FOUND
from portal.shop.route import PartStage
from tests.readers import english

GATES = {
    CheckKind.LEAD: "prep",
    CheckKind.CLOSED: "strip",
    CheckKind.VENT: "strip",
    CheckKind.TANK: "strip",
    CheckKind.METAL: "strip",
    CheckKind.LAYERS: "strip",
    CheckKind.PERMISSION: "strip",
    CheckKind.BEND: "blast",
    CheckKind.RUN_OUT: "blast",
    CheckKind.RUST: "coat",
    CheckKind.BORES: "blast",
    CheckKind.THICKNESS: "blast",
    CheckKind.SIZE: "coat",
    CheckKind.REPAIR: "coat",
    CheckKind.CRACKS: "coat",
    CheckKind.PLATING: "coat",
    CheckKind.WELD: "coat",
    CheckKind.SAMPLE: "coat",
}
# told by the rule of a place, and by rows that are not refused or looked at
LATER = {"place_depth", "place_run_out", "place_permission", "maker_leave", "spring_rust"}
KNOWN = {"kind": "wheel", "count": 4, "build": "cast", "rim": "8Jx18", "layers": ["bare"]}
PART = {"kind": "railing", "count": 1, "metal": "steel", "layers": ["liquid_paint"]}


def of(*sets: dict, **order) -> tuple[CheckKind, ...]:
    """The checks of the first set of an order."""
    return appraise(read_declared({"sets": list(sets), **order}), Practice()).sets[0].checks


@pytest.mark.parametrize(
    ("told", "needs"),
    [
        ({**KNOWN}, set()),
        ({**KNOWN, "build": "unknown"}, {CheckKind.METAL}),
        ({**KNOWN, "layers": ["unknown"]}, {CheckKind.LAYERS}),
        ({**KNOWN, "layers": ["chrome"]}, {CheckKind.PLATING}),
        ({**KNOWN, "damage": ["bend"]}, {CheckKind.BEND, CheckKind.CRACKS}),
        ({**KNOWN, "damage": ["kerb_rash"]}, {CheckKind.CRACKS}),
        (
            {**KNOWN, "finish": {"system": "single", "decide_from_sample": True}},
            {CheckKind.SAMPLE},
        ),
        (
            {**KNOWN, "finish": {"system": "machined_clear", "colour": "X"}},
            {CheckKind.THICKNESS},
        ),
        ({"kind": "caliper", "count": 2, "metal": "cast_iron", "layers": ["bare"]},
         {CheckKind.BORES}),
        ({**PART, "closed": ["tank"]}, {CheckKind.TANK}),
        ({**PART, "closed": ["sealed_tube"]}, {CheckKind.VENT}),
        ({**PART, "closed": ["unknown"]}, {CheckKind.CLOSED}),
        ({**PART, "damage": ["crack"], "closed": ["none"]}, {CheckKind.REPAIR}),
        ({**PART, "damage": ["old_weld"]}, {CheckKind.WELD}),
        ({**PART, "yellow_to_red": True}, {CheckKind.LEAD}),
    ],
)  # fmt: skip
def test_a_check_follows_from_what_was_told(told: dict, needs: set[CheckKind]) -> None:
    found = set(of(told)) - {CheckKind.SIZE}  # a part without a size is measured as well
    assert found == needs


def test_paint_from_before_1980_is_tested_on_every_set() -> None:
    order = read_declared({"sets": [KNOWN, PART], "original_before_1980": True})
    for one in appraise(order, Practice()).sets:
        assert CheckKind.LEAD in one.checks


def test_yellow_to_red_paint_on_wheels_is_no_reason_for_the_test() -> None:
    assert CheckKind.LEAD not in of({**KNOWN, "layers": ["factory_paint"], "yellow_to_red": True})


@pytest.mark.parametrize("kind", CheckKind)
def test_each_check_stops_parts_before_its_own_station(kind: CheckKind) -> None:
    row = check(kind)
    assert row.before == GATES[kind]
    assert row.before in ("", *PartStage)
    assert row.is_gate is bool(row.results)
    if row.is_gate:
        assert row.still_open is not None
        assert "{part}" in row.still_open.msgid


def test_nothing_raises_dust_or_dissolves_before_the_test_for_lead() -> None:
    first = PartStage(check(CheckKind.LEAD).before)
    for stage in (PartStage.PREP, PartStage.STRIP, PartStage.BLAST):
        assert not stage.is_before(first)


def test_everything_that_we_check_first_is_a_line_of_work() -> None:
    """Each caution of this kind, whatever computes it, names a check; `place_…` is a rule's own."""
    rows = toml_table("cautions.toml")
    told = {row["key"] for row in (*rows["caution"], *rows["order"]) if row["kind"] == "inspect"}
    told |= {f"look_{key}" for key in toml_table("strip.toml")["inspect"]} | {"heat_open"}
    done = {key for row in toml_table("checks.toml")["check"] for key in row.get("told", ())}
    # "old_paint" is said once an order; the work of it is that of each set
    assert told - done == {"old_paint"}
    assert done - told <= LATER | {"sealed_tube", "tank", "sample", "oven_open"}


def test_only_the_damaged_parts_of_a_set_are_measured_and_looked_at() -> None:
    kinds = (CheckKind.METAL, CheckKind.BEND, CheckKind.CRACKS)
    assert on_part(kinds, ()) == (CheckKind.METAL,)
    assert on_part(kinds, (Damage.KERB_RASH,)) == (CheckKind.METAL, CheckKind.CRACKS)
    assert on_part(kinds, (Damage.BEND,)) == kinds


def every_result() -> list[tuple[CheckKind, str]]:
    return [(kind, one.key) for kind in CheckKind for one in check(kind).results]


@pytest.mark.parametrize(("kind", "key"), every_result())
def test_a_positive_result_changes_the_order_or_refuses_the_part(kind: CheckKind, key: str) -> None:
    result = check(kind).result(key)
    assert result is not None
    part = {**PART, "kind": "caliper"} if kind is CheckKind.BORES else PART
    wheel = kind in {CheckKind.BEND, CheckKind.CRACKS, CheckKind.THICKNESS, CheckKind.METAL}
    told = read_declared(
        {
            "sets": [
                {
                    **(KNOWN if wheel else part),
                    "finish": {
                        "system": "machined_clear" if kind is CheckKind.THICKNESS else "single",
                        "colour": "X",
                    },
                }
            ]
        }
    )
    one = told.sets[0]
    really = as_found(one, result.becomes)
    if not result.positive:
        return
    assert really != one
    answer = appraise(read_declared({"sets": [_written(really)]}), Practice()).sets[0]
    lead = Found.LEAD in really.found
    assert answer.route.outside if lead else _refuses_more(one, answer)
    if lead:
        assert answer.route.kinds == (RouteKind.LICENSED, RouteKind.BLAST)
        assert any("no dry blasting" in english(text) for text in answer.route.forbids)


def _written(one: PartSet) -> dict:
    from portal.craft.declared import write_declared
    from portal.craft.parts import Declared

    return write_declared(Declared((one,)))["sets"][0]


def _refuses_more(one: PartSet, answer) -> bool:
    before = appraise(read_declared({"sets": [_written(one)]}), Practice()).sets[0]
    own = {caution.key for caution in before.cautions}
    return any(c.kind is CautionKind.REFUSE and c.key not in own for c in answer.cautions)


def test_lead_is_refused_where_no_licensed_company_strips_it() -> None:
    told = read_declared({"sets": [{**PART, "found": ["lead"]}]})
    keys = {c.key for c in appraise(told, Practice(strips_lead=False)).refused}
    assert "found_lead" in keys
    assert "found_lead" not in {c.key for c in appraise(told, Practice()).refused}


def test_a_result_fills_in_what_the_customer_did_not_know() -> None:
    told = read_declared({"sets": [{**KNOWN, "build": "unknown", "layers": ["unknown"]}]}).sets[0]
    metal = check(CheckKind.METAL).result("steel")
    layer = check(CheckKind.LAYERS).result("powder")
    assert metal is not None
    assert layer is not None
    really = as_found(as_found(told, metal.becomes), layer.becomes)
    assert base_metal(really) is Metal.STEEL
    assert really.layers == (Layer.POWDER,)


def test_everything_that_can_be_found_is_told_to_the_customer() -> None:
    assert set(FOUND) == set(Found)


def test_every_result_of_the_table_is_a_word_that_can_be_stored():
    in_table = {one.key for kind in CheckKind for one in check(kind).results}
    assert {*CheckResult} - in_table == {CheckResult.REOPENED, CheckResult.WAIVED}
