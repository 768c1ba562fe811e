"""Rows of the trade's tables, read here anew: each is followed, and with its own words."""

import tomllib
from pathlib import Path

import pytest

from portal.craft.bringing import NewTyres
from portal.craft.care import advice
from portal.craft.check_kinds import CheckKind
from portal.craft.checks import needed
from portal.craft.finishes import gloss_ruled_out
from portal.craft.fit import masks
from portal.craft.parts import Bringing, Effect, Gloss, Item, PartKind, Remover, System, Usage
from portal.craft.removals import WITH_THE_TYRE, removals
from tests.craft.shelf import SHELF, finish, part, wheels
from tests.readers import english

DATA = Path(__file__).resolve().parents[2] / "portal" / "craft" / "data"


def table(name: str) -> dict:
    return tomllib.loads((DATA / f"{name}.toml").read_text("utf-8"))


CHECKS = [(CheckKind(row["key"]), told) for row in table("checks")["check"] for told in row["told"]]
FITS = [row for row in table("fits")["zone"] if "before_mm" in row]
USES = {row["name"]: row for row in table("care")["use"]}


@pytest.mark.parametrize(("kind", "told"), CHECKS, ids=str)
def test_what_was_told_asks_for_its_check_and_for_no_other(kind: CheckKind, told: str) -> None:
    wanted = {one for one, key in CHECKS if key == told}
    assert set(needed({}, {told})) == wanted
    assert kind in wanted
    assert needed({}, set()) == ()


@pytest.mark.parametrize("usage", Usage)
@pytest.mark.parametrize("system", System)
def test_each_use_has_its_own_advice_on_a_finish(usage: Usage, system: System) -> None:
    one = wheels(finish=finish(system, "BLACK"))
    rows = USES[usage.value].get("advice", [])
    fits = [r["says"] for r in rows if set(r["when"]) == {"system"}]
    own = [r["says"] for r in rows if r["when"].get("system") and system in r["when"]["system"]]
    found = [english(say) for say in advice(usage, one)]
    assert [say for say in found if say in fits] == [say for say in own if say in fits]
    outdoors = usage in {Usage.EVERYDAY, Usage.WINTER, Usage.OFF_ROAD}
    assert (english_of_outdoors() in found) is outdoors
    assert advice(usage, wheels(finish=None)) == advice(None, one) == ()


def english_of_outdoors() -> str:
    says: str = table("care")["outdoors"]["says"]
    return says


def test_why_a_finish_has_no_such_gloss() -> None:
    rules = {k: row.get("no_gloss", {}) for k, row in table("finishes")["system"].items()}
    for system in System:
        for gloss in Gloss:
            found = gloss_ruled_out(system, gloss, SHELF)
            if gloss.value in rules[system.value]:
                assert found is not None
                assert english(found) == rules[system.value][gloss.value]
    assert gloss_ruled_out(System.SINGLE, Gloss.GLOSS, SHELF) is None
    said = gloss_ruled_out(System.SINGLE, Gloss.GLOSS, {})
    assert said is not None
    assert english(said) == "We have no powder for it in this gloss."
    unclear = {code: one for code, one in SHELF.items() if one.effect is not Effect.CLEAR}
    said = gloss_ruled_out(System.BASE_CLEAR, Gloss.GLOSS, unclear)
    assert said is not None
    assert english(said) == "We have no clear coat in this gloss."


@pytest.mark.parametrize("row", FITS, ids=lambda row: f"{row['zone']} of {row['when']['kind'][0]}")
def test_a_mask_names_what_there_is_to_spare_and_what_the_film_takes(row: dict) -> None:
    """A film of 120 µm unless the plan has another; by hand from the row's own figures."""
    (kind, *_) = row["when"]["kind"]
    one = part(PartKind(kind)) if kind != "wheel" else wheels()
    mask = next(m for m in masks(one, None) if m.zone == row["zone"])
    film = mask.why.values["film"].value
    taken = row["walls"] * film / 1000
    assert mask.why.values["before"].value == row["before_mm"]
    assert float(mask.why.values["taken"].value) == pytest.approx(taken, abs=0.005)
    assert mask.clearance_mm == pytest.approx(row["before_mm"] - taken)


@pytest.mark.parametrize("tyres", NewTyres)
@pytest.mark.parametrize("bringing", [None, *Bringing])
def test_what_a_tyre_shop_fits_later_does_not_go_back_on_here(tyres, bringing) -> None:
    one = wheels(fitted=tuple(Item), new_tyres=tyres, removers=dict.fromkeys(Item, Remover.US))
    for removal in removals(one, bringing):
        waits = tyres is NewTyres.LATER and removal.item in WITH_THE_TYRE
        assert removal.back is not (bringing is Bringing.BARE or waits), removal.item
