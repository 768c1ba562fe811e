"""A further set starts as a copy of one of its kind."""

from portal.craft.parts import (
    Damage,
    Declared,
    FinishChoice,
    Item,
    Layer,
    PartKind,
    PartSet,
    Remover,
    System,
)
from portal.orders.intake.draft_answers import Answers, like_an_earlier

FIRST = PartSet(
    "A",
    PartKind.WHEEL,
    2,
    layers=(Layer.POWDER,),
    damage=(Damage.KERB_RASH,),
    fitted=(Item.TYRE,),
    removers={Item.TYRE: Remover.US},
    finish=FinishChoice(System.SINGLE, "R9005-S"),
    note="from a barn",
)
ORDER = Answers(Declared(sets=(FIRST,)), saved={"fitted:A": 3})


def test_what_is_likely_the_same_is_taken_over_and_damage_is_not() -> None:
    after = like_an_earlier(PartSet("B", PartKind.WHEEL, 2), ORDER)
    first, second = after.declared.sets
    assert first == FIRST
    assert (second.layers, second.fitted, second.finish) == (
        FIRST.layers,
        FIRST.fitted,
        FIRST.finish,
    )
    assert second.removers == FIRST.removers
    assert second.damage == ()
    assert second.note == ""
    assert after.saved["fitted:B"] == 3


def test_another_kind_starts_empty() -> None:
    after = like_an_earlier(PartSet("B", PartKind.CALIPER, 2), ORDER)
    assert after.declared.sets[1] == PartSet("B", PartKind.CALIPER, 2)
    assert "fitted:B" not in after.saved


def test_the_first_set_is_added_as_it_stands() -> None:
    assert like_an_earlier(FIRST, Answers()).declared.sets == (FIRST,)
