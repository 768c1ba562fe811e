"""The plainest finish that is assumed while none has been chosen."""

from portal.craft.appraise import Practice
from portal.craft.parts import FinishChoice, Gloss, System
from portal.shop.assessment.defaults import USUAL_GLOSSES, usual_finish
from tests.craft.shelf import SHELF, wheels

PRACTICE = Practice(stock=SHELF, heat_limit_min_at_200=45)


def test_the_usual_finish_is_a_plain_powder_in_stock() -> None:
    found = usual_finish(wheels(finish=None), PRACTICE)
    assert found is not None
    assert SHELF[found.colour].stock_kg > 0
    assert found.gloss is USUAL_GLOSSES[0]


def test_a_gloss_that_is_chosen_already_is_kept() -> None:
    begun = FinishChoice(system=System.SINGLE, colour="", gloss=Gloss.SATIN)
    found = usual_finish(wheels(finish=None), PRACTICE, begun)
    assert found == FinishChoice(System.SINGLE, "BLACK-S", Gloss.SATIN)
