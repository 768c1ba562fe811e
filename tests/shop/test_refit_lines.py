"""What it costs to put back what we took off: the lines, their words, and when there is none."""

from datetime import date

from portal.craft.bringing import NewTyres
from portal.craft.parts import Bringing, Item, Remover, System
from portal.shop.pricing.quote import quote
from tests.readers import english
from tests.shop.appraised import answer, appraisal, declared, plan, removal, tariff, wheels

ON = date(2026, 6, 1)


def lines(bringing=Bringing.COMPLETE, *, tyres=NewTyres.SAME, who=Remover.US):
    """The lines of four wheels with tyre and valve, for what goes on again."""
    part_set = wheels(
        fitted=(Item.TYRE, Item.VALVE),
        new_tyres=tyres,
        removers={Item.TYRE: who, Item.VALVE: who},
    )
    off = (removal(Item.TYRE), removal(Item.VALVE))
    one = answer(part_set, off=off, coats=plan(System.SINGLE))
    order = declared(one, bringing=bringing)
    found = quote(order, appraisal(one, bringing=bringing), tariff(), ON)
    return {x.key: x for x in found.lines if x.key.startswith(("A.on.", "A.new."))}


def test_what_we_took_off_goes_on_again_and_each_line_says_why() -> None:
    found = lines()
    assert {key: (x.amount.minor, x.firm) for key, x in found.items()} == {
        "A.on.tyre": (4 * 900, True),
        "A.on.valve": (4 * 100, True),
        "A.new.valve": (4 * 350, True),
    }
    assert {key: (english(x.says), english(x.why)) for key, x in found.items()} == {
        "A.on.tyre": (
            "Tyre fitted and the wheel balanced",
            "We take it off, so we put it back.",
        ),
        "A.on.valve": ("Valve fitted", "We take it off, so we put it back."),
        "A.new.valve": ("New valve", "A rubber valve must not be used twice."),
    }


def test_a_new_tyre_says_so_and_only_the_tyre() -> None:
    found = lines(tyres=NewTyres.BRING)
    assert english(found["A.on.tyre"].says) == "Your new tyre fitted and the wheel balanced"
    assert "You bring new tyres." in english(found["A.on.tyre"].why)
    assert english(found["A.on.valve"].says) == "Valve fitted"


def test_what_we_did_not_take_off_we_do_not_put_on() -> None:
    assert lines(who=Remover.YOU) == {}


def test_parts_that_are_brought_bare_leave_bare() -> None:
    assert lines(Bringing.BARE) == {}
