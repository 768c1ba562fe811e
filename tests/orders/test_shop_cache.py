"""The shop is what its editions say at a moment; seeding makes editions of a shop's files."""

from datetime import timedelta

import pytest
import sqlalchemy as sa

from portal.craft.messages import CraftError
from portal.orders.office.seeding import FIRST_TAGS, import_shop
from portal.shop.states import StockReason
from portal.store.tables import Audit, PowderRow, SettingsEdition, StockMove, Tag
from tests.conftest import unit_at


def count(unit, kind) -> int:
    with unit.read() as session:
        return session.scalar(sa.select(sa.func.count()).select_from(kind))


def shop(unit, at=None):
    with unit.read() as session:
        return unit.shop(session, at)


def statements(unit) -> list[str]:
    said: list[str] = []
    sa.event.listen(
        unit._engine(), "before_cursor_execute", lambda _c, _k, text, *_: said.append(text)
    )
    return said


def test_the_seeded_shop_is_in_force(unit, shop_text, powders_text) -> None:
    from portal.shop.shop import read_shop

    assert shop(unit) == read_shop(shop_text, powders_text)
    assert count(unit, Tag) == FIRST_TAGS


def test_reading_the_files_again_changes_nothing(unit, clock, shop_text, powders_text) -> None:
    before = [count(unit, kind) for kind in (SettingsEdition, PowderRow, StockMove, Tag, Audit)]
    import_shop(unit, shop_text, powders_text, at=clock.now())
    assert [
        count(unit, kind) for kind in (SettingsEdition, PowderRow, StockMove, Tag, Audit)
    ] == before


def test_a_new_price_list_counts_from_its_day_and_the_old_one_stays(
    unit, clock, shop_text, powders_text
) -> None:
    old = shop(unit).tariff
    dearer = shop_text.replace(f'minimum = "{old.minimum / 100:.2f}"', 'minimum = "99.00"')
    assert dearer != shop_text
    start = clock.now() + timedelta(days=2)
    import_shop(unit, dearer, powders_text, at=start)
    assert shop(unit).tariff == old
    clock.advance(days=2)
    assert shop(unit).tariff.minimum == 9900
    assert shop(unit, clock.now() - timedelta(days=1)).tariff == old


def test_the_counted_stock_of_a_known_powder_is_kept(unit, clock, shop_text, powders_text) -> None:
    with unit.read() as session:
        code = session.scalars(sa.select(PowderRow.code)).first()

    def use(session) -> None:
        row = session.get(PowderRow, code)
        row.stock_g, row.version = 1234, row.version + 1

    unit.write(use)
    import_shop(unit, shop_text, powders_text, at=clock.now())
    assert shop(unit).stock[code].stock_kg == 1.234


def test_a_powder_that_is_used_is_seen_at_once(unit) -> None:
    code, powder = next(iter(shop(unit).stock.items()))
    unit.write(
        lambda s: s.execute(
            sa.update(PowderRow)
            .where(PowderRow.code == code)
            .values(stock_g=PowderRow.stock_g - 500, version=PowderRow.version + 1)
        )
    )
    assert shop(unit).stock[code].stock_kg == pytest.approx(powder.stock_kg - 0.5)


def test_what_one_powder_loses_and_another_gets_is_seen_at_once(unit, clock) -> None:
    (one, first), (other, second) = list(shop(unit).stock.items())[:2]
    for code, grams in ((one, -500), (other, 500)):
        unit.write(lambda s, code=code, grams=grams: stock_changes(s, code, grams, clock.now()))
    assert shop(unit).stock[one].stock_kg == pytest.approx(first.stock_kg - 0.5)
    assert shop(unit).stock[other].stock_kg == pytest.approx(second.stock_kg + 0.5)


def test_a_change_of_stock_reads_no_document_again(unit, clock) -> None:
    code = next(iter(shop(unit).stock))
    seen = []
    for _ in range(2):
        unit.write(lambda s: stock_changes(s, code, -500, clock.now()))
        seen.append(shop(unit))
    assert seen[0] != seen[1]
    assert seen[0].week is seen[1].week


def test_two_processes_see_a_change_of_stock_at_once(unit, clock, database) -> None:
    other = unit_at(database, clock)
    code = next(iter(shop(unit).stock))
    was = shop(other).stock[code].stock_kg
    unit.write(lambda s: stock_changes(s, code, -500, clock.now()))
    for one in (unit, other):
        assert shop(one).stock[code].stock_kg == pytest.approx(was - 0.5)
    other.close()


def stock_changes(session, code, grams, at) -> None:
    row = session.get_one(PowderRow, code)
    row.stock_g += grams
    session.add(StockMove(powder_code=code, grams=grams, why=StockReason.STOCKTAKE, at=at))


def test_a_known_shop_costs_one_statement(unit) -> None:
    first = shop(unit)
    said = statements(unit)
    with unit.read() as session:
        assert unit.shop(session) is first
    assert len([text for text in said if text.startswith("SELECT")]) == 1


def test_a_shop_file_with_a_fault_is_refused_whole(unit, clock, shop_text, powders_text) -> None:
    before = count(unit, SettingsEdition)
    with pytest.raises(CraftError):
        import_shop(unit, shop_text + "\n[nonsense]\n", powders_text, at=clock.now())
    assert count(unit, SettingsEdition) == before
