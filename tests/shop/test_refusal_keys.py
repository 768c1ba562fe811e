"""A refusal names the field that it is about, so that a page can say it there."""

from collections.abc import Callable

import pytest

from portal.craft.colours import lab_of_hex, lab_of_ral, ral_number
from portal.craft.finishes import coat_plan
from portal.craft.geometry import surface
from portal.craft.inspection import adhesion, check_spots
from portal.craft.messages import CraftError
from portal.craft.parts import FinishChoice, Gloss, PartKind, System
from portal.shop.colour_search import find
from portal.shop.lists.spreadsheet import MOST_BYTES, read_spreadsheet
from tests.craft.shelf import SHELF, part, wheels
from tests.readers import english

PLATE, NO_SHELF = PartKind.PLATE, {key: SHELF[key] for key in ("BLACK", "CANDY")}


def plan(system: System, colour: str, gloss: Gloss = Gloss.GLOSS, stock=SHELF, **more: str):
    coat_plan(wheels(finish=FinishChoice(system, colour, gloss, **more)), stock)


@pytest.mark.parametrize(
    ("call", "key", "says"),
    [
        (lambda: surface(part(PLATE, size_mm=(0.0, 9.0, 9.0))), "size_mm", "a length above 0"),
        (lambda: surface(part(PLATE, size_mm=(12001.0, 9.0, 9.0))), "size_mm", "from 0 to 12000"),
        (lambda: coat_plan(wheels(finish=None), SHELF), "finish", "a finish first"),
        (lambda: plan(System.SINGLE, "GONE"), "finish.colour", "no longer have"),
        (lambda: plan(System.SINGLE, "BLACK", face="GONE"), "finish.face", "no longer have"),
        (lambda: plan(System.SINGLE, "BLACK", barrel="GONE"), "finish.barrel", "no longer have"),
        (lambda: plan(System.SINGLE, "GONE", face="RED"), "finish.colour", "no longer have"),
        (lambda: plan(System.SINGLE, "GONE", barrel="RED"), "finish.colour", "no longer have"),
        (lambda: plan(System.SINGLE, "CANDY"), "finish.colour", "doesn't come in this finish"),
        (lambda: plan(System.SINGLE, "BLACK-S"), "finish.colour", "another gloss: Satin"),
        (
            lambda: plan(System.TRANSLUCENT, "CANDY", stock=NO_SHELF),
            "finish.system",
            "bright base coat is out",
        ),
        (lambda: plan(System.BASE_CLEAR, "RED", Gloss.MATT), "finish.gloss", "no clear coat"),
        (lambda: check_spots([(2001.0, 60.0, 60.0)], 1), "readings_um", "from 0 to"),
        (lambda: adhesion(6), "adhesion_class", "from 0 to 5"),
        (lambda: lab_of_hex("red"), "colour", "such as #383E42"),
        (lambda: ral_number("70161"), "colour", "four digits"),
        (lambda: lab_of_ral("9999"), "colour", "RAL 9999"),
        (lambda: find("mud", SHELF, [*System], System.SINGLE, Gloss.GLOSS), "near", "“mud”"),
        (lambda: read_spreadsheet(b"PK" + b"\0" * MOST_BYTES), "file", "too large"),
        (lambda: read_spreadsheet(b"PK"), "file", "can't read this file"),
    ],
)
def test_a_refusal_names_its_field(call: Callable[[], object], key: str, says: str) -> None:
    with pytest.raises(CraftError) as caught:
        call()
    assert caught.value.key == key
    assert says in english(caught.value.sentence)
