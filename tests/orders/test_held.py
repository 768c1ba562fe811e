"""What stops an order is shown on the page where it can be answered."""

from dataclasses import replace

import pytest

from portal.craft.appraise import Practice, appraise
from portal.craft.parts import Bringing, Damage, Declared, Item, Remover, System
from portal.orders.intake.draft_answers import Answers, Step, reach
from portal.orders.intake.draft_view import held_at
from tests.craft.shelf import SHELF, finish, wheels

TOLD = Answers(
    declared=Declared(sets=(wheels(),), bringing=Bringing.COMPLETE), saved={"fitted:A": 1}
)


def reached(part_set, practice=None):
    declared = replace(TOLD.declared, sets=(part_set,))
    refused = appraise(declared, practice or Practice(stock=SHELF)).refused
    return reach(replace(TOLD, declared=declared), held=held_at(refused))


def test_nothing_refused_holds_nothing():
    assert reached(wheels()) is Step.DAY


@pytest.mark.parametrize(
    ("part_set", "page"),
    [
        (wheels(damage=(Damage.CRACK,)), Step.ON_THEM),
        (wheels(removers={Item.SENSOR: Remover.STAYS}), Step.COMES_OFF),
        (wheels(finish=finish(System.SINGLE, "WITHDRAWN")), Step.FINISH),
        (
            wheels(damage=(Damage.CRACK,), finish=finish(System.SINGLE, "WITHDRAWN")),
            Step.ON_THEM,
        ),
    ],
)
def test_a_refusal_holds_the_order_at_the_page_where_it_can_be_answered(part_set, page):
    assert reached(part_set) is page


def test_too_much_heat_is_answered_at_the_finish():
    assert reached(wheels(), Practice(stock=SHELF, heat_limit_min_at_200=1)) is Step.FINISH


def test_an_undecided_rule_of_the_place_holds_the_order_before_anything_is_chosen():
    assert reached(wheels(), Practice(stock=SHELF, place="DE")) is Step.ON_THEM
