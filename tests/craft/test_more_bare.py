"""Surfaces that stay bare because the customer asks, beyond those that always do."""

from dataclasses import replace

import pytest

from portal.craft.fit import masks, more_zones
from portal.craft.parts import BareZone, FinishChoice, Metal, PartKind, PartSet, System


@pytest.mark.parametrize("kind", PartKind)
def test_what_always_stays_bare_is_never_offered_as_a_wish(kind) -> None:
    part_set = PartSet("A", kind, 1, metal=Metal.CAST_ALUMINIUM)
    always = {mask.zone for mask in masks(part_set, None)}
    assert not always & set(more_zones(part_set))


def test_a_wish_is_masked_and_stays_on_offer() -> None:
    wheel = PartSet("A", PartKind.WHEEL, 4, metal=Metal.CAST_ALUMINIUM)
    assert BareZone.BEAD_SEATS in more_zones(wheel)
    finish = FinishChoice(System.SINGLE, "X", bare=(BareZone.BEAD_SEATS,))
    wished = replace(wheel, finish=finish)
    assert BareZone.BEAD_SEATS in {mask.zone for mask in masks(wished, None)}
    assert more_zones(wished) == more_zones(wheel)
