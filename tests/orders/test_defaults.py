"""What is assumed for the first price: only what can be done, so that it never refuses anything."""

from dataclasses import replace

import pytest

from portal.craft.appraise import Practice, appraise
from portal.craft.parts import Declared, Effect, PartKind, Powder, WheelBuild
from portal.orders.intake import drafts
from portal.orders.intake.draft_view import Times, look
from portal.orders.office import powders as powder_records
from portal.shop.assessment.defaults import with_defaults
from tests.craft.shelf import part, wheels
from tests.readers import english

# the commonest cure of the trade, too hot for a cast wheel at a limit of 45 minutes at 200 °C
HOT = Powder("AAA-HOT", "Hot black", (10, 0, 0), 85, cure=(200, 10), stock_kg=80)
MILD = Powder("MILD", "Mild metallic", (10, 0, 0), 85, Effect.METALLIC, cure=(180, 10))


def filled(one, *powders):
    practice = Practice(stock={p.code: p for p in powders}, heat_limit_min_at_200=45)
    declared, said = with_defaults(Declared(sets=(one,)), practice, frozenset())
    return declared.sets[0], said, appraise(declared, practice)


@pytest.mark.parametrize("build", [b for b in WheelBuild if b.value not in ("magnesium", "carbon")])
def test_a_powder_too_hot_for_the_part_is_not_assumed(build) -> None:
    one, _said, answer = filled(wheels(finish=None, build=build), HOT, MILD)
    assert not answer.refused
    assert one.finish is not None
    # castings are baked once more before they are coated; the others bear the plain colour
    cast = build in (WheelBuild.CAST, WheelBuild.CHROME_PLATED)
    assert one.finish.colour == ("MILD" if cast else "AAA-HOT")


def test_where_no_finish_can_be_made_none_is_assumed_and_nothing_is_refused() -> None:
    one, said, answer = filled(wheels(finish=None), HOT)
    assert one.finish is None
    assert not answer.refused
    assert not [s for s in said if "colour" in english(s)]


def test_a_usual_size_that_would_not_fit_the_oven_is_no_refusal() -> None:
    practice = Practice(stock={MILD.code: MILD}, oven_mm=(400, 400, 400))
    for kind in (PartKind.FRAME, PartKind.CALIPER):
        declared, _said = with_defaults(Declared(sets=(part(kind),)), practice, frozenset())
        assert not appraise(declared, practice).refused
        measured = replace(declared.sets[0], size_mm=(1000, 500, 500))
        assert appraise(replace(declared, sets=(measured,)), practice).refused


def test_an_order_for_cast_wheels_is_not_refused_by_a_powder_that_came_into_stock(unit) -> None:
    figures = powder_records.powder(unit, "R9005-G").figures
    typed = figures | {"code": "AAA-HOT", "name": "Hot black", "cure_c": "200", "cure_min": "10"}
    powder_records.save_powder(unit, typed, expected_version=None, offered=True, who=None)
    powder_records.delivery(unit, "AAA-HOT", 80_000, who=None)
    token = drafts.begin(unit)

    def tell(answers):
        sets = (wheels(finish=None, layers=()),)
        return replace(answers, declared=replace(answers.declared, sets=sets))

    drafts.save(unit, token, "set:A", 1, tell)
    assert not look(unit, token, times=Times.NONE).refused
