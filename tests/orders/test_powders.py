"""Powders: deliveries and stocktakes move the stock, figures are checked, stale changes told."""

import pytest
import sqlalchemy as sa

from portal.orders.access import signing_in
from portal.orders.kernel.errors import Overtaken, Refused
from portal.orders.office import powders
from portal.shop.roles import Role
from portal.store.tables import StockMove

SECRET = "seven brass hooks in a row"


@pytest.fixture
def wren(unit) -> int:
    return signing_in.add_person(unit, login="wren", name="Wren", role=Role.OFFICE, password=SECRET)


def test_a_delivery_and_a_stocktake_move_the_stock_and_say_why(unit, wren) -> None:
    code = "R9005-G"
    before = powders.powder(unit, code).line.powder.stock_kg
    powders.delivery(unit, code, 20_000, who=wren)
    assert powders.powder(unit, code).line.powder.stock_kg == before + 20
    assert powders.stocktake(unit, code, 30_000, who=wren) == 30_000 - (before + 20) * 1000
    sheet = powders.powder(unit, code)
    assert sheet.line.powder.stock_kg == 30
    assert [move.why for move in sheet.moves[:2]] == ["stocktake", "delivery"]
    with unit.read() as session:
        moved = session.scalar(
            sa.select(sa.func.sum(StockMove.grams)).where(StockMove.powder_code == code)
        )
    assert moved == 30_000  # the stock is the sum of its movements


def test_a_powder_is_changed_and_a_stale_change_is_told(unit, wren) -> None:
    sheet = powders.powder(unit, "R9005-G")
    typed = sheet.figures | {"name": "Deep black"}
    powders.save_powder(unit, typed, expected_version=sheet.version, offered=True, who=wren)
    with pytest.raises(Overtaken):
        powders.save_powder(unit, typed, expected_version=sheet.version, offered=True, who=wren)
    with unit.read() as session:
        assert unit.shop(session).stock["R9005-G"].name == "Deep black"


def test_a_new_powder_can_be_chosen_and_one_not_offered_can_not(unit, wren) -> None:
    typed = powders.powder(unit, "R9005-G").figures | {"code": "NEW-1", "name": 'A "b", c'}
    powders.save_powder(unit, typed, expected_version=None, offered=True, who=wren)
    with unit.read() as session:
        assert unit.shop(session).stock["NEW-1"].name == 'A "b", c'
    with pytest.raises(Refused) as told:
        powders.save_powder(unit, typed, expected_version=None, offered=True, who=wren)
    assert told.value.key == "code"
    version = powders.powder(unit, "NEW-1").version
    powders.save_powder(unit, typed, expected_version=version, offered=False, who=wren)
    with unit.read() as session:
        assert "NEW-1" not in unit.shop(session).stock


@pytest.mark.parametrize(
    ("column", "value"), [("density", "9"), ("film_low_um", "500"), ("cure_c", "x"), ("effect", "")]
)
def test_a_figure_that_can_not_be_is_refused_by_its_column(unit, wren, column, value) -> None:
    typed = powders.powder(unit, "R9005-G").figures | {"code": "NEW-2", column: value}
    with pytest.raises(Refused) as told:
        powders.save_powder(unit, typed, expected_version=None, offered=True, who=wren)
    assert told.value.key == column


def test_a_powder_that_runs_out_is_marked(unit, wren) -> None:
    powders.stocktake(unit, "R9005-G", 5_000, who=wren)
    assert powders.powder(unit, "R9005-G").line.low
