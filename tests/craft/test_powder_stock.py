"""Powder at the limits of stock and box; figures by hand."""

import math
from dataclasses import replace

import pytest

from portal.craft.answers import Coat
from portal.craft.looks import CoatRole
from portal.craft.messages import CraftError
from portal.craft.parts import (
    Effect,
    Powder,
)
from portal.craft.powder import boxes, film_um, mass_kg, need
from tests.readers import english, refusing

EMBER = Powder("E", "Ember", (50, 0, 0), 80, Effect.SOLID, film_um=(60, 90), density=1.6,
               stock_kg=1.0, box_kg=20.0, lead_days=4)  # fmt: skip


def coat(powder: Powder = EMBER, share: float = 1.0) -> Coat:
    return Coat(CoatRole.COLOUR, powder, powder.film_um, 200, 10.0, share=share)


@pytest.mark.parametrize(
    ("full", "count"),
    [(0.0, 0), (0.001, 1), (20.0, 1), (20.0004, 1), (20.02, 2), (40.0, 2), (40.02, 3)],
)
def test_whole_boxes(full: float, count: int) -> None:
    assert boxes(full, 20.0) == count


@pytest.mark.parametrize("box", [0.0, -1.0, math.inf, math.nan])
def test_a_box_that_cannot_be_is_refused(box: float) -> None:
    with refusing(CraftError, r"^Area, film thickness and density must be above 0\.$"):
        boxes(1.0, box)


@pytest.mark.parametrize("transfer", [0.0, -0.1, 1.01])
def test_a_transfer_is_a_share(transfer: float) -> None:
    with refusing(CraftError, "^Enter the transfer efficiency as a share between 0 and 1.$") as bad:
        mass_kg(1.0, 75.0, 1.6, transfer)
    assert bad.value.key == "transfer"
    assert film_um(1.0, 1.0, 1.6, 1.0) == 625.0


# 1 m² at 75 µm and 1.6 g/cm³ is 0.12 kg on the part, and sprayed at 60 % it takes 0.2 kg
@pytest.mark.parametrize(
    ("area", "stock", "says", "count", "days"),
    [
        (1.0, 1.0, "About 0.2 kg of Ember, in stock.", 0, 0),
        (1.0, 0.2, "About 0.2 kg of Ember, in stock.", 0, 0),
        (0.5, 1.0, "About 0.1 kg of Ember, in stock.", 0, 0),
        (0.49, 1.0, "About 0.10 kg of Ember, in stock.", 0, 0),
        (0.2, 1.0, "About 0.04 kg of Ember, in stock.", 0, 0),
        (
            1.0,
            0.05,
            "About 0.2 kg of Ember. We have 0.05 kg, so we order more: 4 working days.",
            1,
            4,
        ),
        (
            101.0,
            0.0,
            "About 20.2 kg of Ember. We have 0.00 kg, so we order more: 4 working days.",
            2,
            4,
        ),
    ],
)
def test_how_the_stock_stands(area, stock, says: str, count: int, days: int) -> None:
    found = need(coat(replace(EMBER, stock_kg=stock)), area, 0.6)
    assert english(found.said) == says
    assert (found.boxes_to_buy, found.wait_days) == (count, days)
    assert found.kg == pytest.approx(area * 0.2)


def test_a_coat_takes_its_own_share_and_one_day_is_one() -> None:
    found = need(coat(replace(EMBER, stock_kg=0, lead_days=1), share=0.25), 4.0, 0.6)
    assert found.kg == pytest.approx(0.2)
    assert english(found.said) == (
        "About 0.2 kg of Ember. We have 0.00 kg, so we order more: 1 working day."
    )
