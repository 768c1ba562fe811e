"""Where a part hangs, and the mark that the hook leaves: told for every kind of part."""

import pytest

from portal.craft.answers import About, CautionKind
from portal.craft.appraise import Practice, appraise
from portal.craft.hanging import HangAt, hang_at, hanging_mark, mark_seen
from portal.craft.parts import Declared, PartKind
from tests.craft.shelf import part, wheels
from tests.readers import english


@pytest.mark.parametrize("kind", PartKind)
def test_every_kind_has_a_place_and_one_short_sentence(kind: PartKind) -> None:
    said = english(hanging_mark(kind))
    assert said.count(".") == 1
    assert "mark" in said
    assert len(said.split()) <= 25
    assert hang_at(kind) in HangAt


def test_every_place_is_used() -> None:
    assert {hang_at(kind) for kind in PartKind} == set(HangAt)


def test_on_what_is_fitted_again_the_mark_is_out_of_sight() -> None:
    hidden = {kind for kind in PartKind if not mark_seen(kind)}
    assert hidden == {PartKind.WHEEL, PartKind.CALIPER, PartKind.FRAME}


def test_an_order_is_told_once_for_each_kind_of_place() -> None:
    order = Declared(sets=(wheels(key="A"), wheels(key="B"), part(PartKind.RAILING, key="C")))
    told = [
        one
        for one in appraise(order, Practice()).cautions_of(CautionKind.TELL)
        if one.key.startswith("hanging_")
    ]
    assert [one.key for one in told] == ["hanging_bolt_hole", "hanging_fixing"]
    assert {one.about for one in told} == {About.FINISH}
