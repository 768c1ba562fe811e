"""A scan is read whatever the keyboard did to it."""

import pytest

from portal.shop.codes import shown
from portal.shop.scans import QWERTZ, Kind, film_reading, read_scan, tag_number
from tests.shop import scan_cases
from tests.shop.scan_cases import CODE

TOKEN = "ABCDYFGHIZKLMNOPQRSTUVWXY2"


@pytest.mark.parametrize(
    "typed",
    [
        f"HTTPS://WORKS.EXAMPLE/J/{TOKEN}",
        f"https://works.example/j/{TOKEN.lower()}",
        f"  HTTPS://WORKS.EXAMPLE/J/{TOKEN}\r\n",
        f"HTTPSÖ--WORKS.EXAMPLE-J-{TOKEN}",  # : and / as a German keyboard types them
        f"HTTPSM!!WORKS:EXAMPLE!J!{TOKEN}",  # and a French one
        f"HTTPS>&&WORKS.EXAMPLE&J&{TOKEN}",
        f"HTTPS://WORKS.EXAMPLE/J/{TOKEN}/slip",
    ],
)
def test_a_link_is_read_in_any_case_and_with_garbled_separators(typed: str) -> None:
    scan = read_scan(typed)
    assert scan.kind is Kind.LINK
    assert scan.candidates[0] == TOKEN


def test_a_link_typed_with_y_and_z_swapped_offers_the_right_token() -> None:
    scan = read_scan(f"HTTPSÖ--WORKS.EXAMPLE-J-{TOKEN}".translate(QWERTZ))
    assert scan.kind is Kind.LINK
    assert TOKEN in scan.candidates


def test_a_link_typed_on_a_french_keyboard_offers_the_right_token() -> None:
    us_to_fr = str.maketrans("AQZWM234567", "QAWZ?é\"'(-è")
    typed = f"HTTPSM!!WORKS:EXAMPLE!J!{TOKEN.translate(us_to_fr)}"
    assert TOKEN in read_scan(typed).candidates


@pytest.mark.parametrize("typed", [CODE, CODE.lower(), shown(CODE), f" {shown(CODE).lower()} "])
def test_a_code_is_read_as_people_type_it(typed: str) -> None:
    scan = read_scan(typed)
    assert (scan.kind, scan.candidates[0], scan.part) == (Kind.CODE, CODE, 0)


@pytest.mark.parametrize("end", ["-3", "/3", ".3", " 3", "03", "-03", "ß3"])
def test_a_paper_tag_names_its_part(end: str) -> None:
    scan = read_scan(CODE + end)
    assert (scan.kind, scan.candidates[0], scan.part) == (Kind.CODE, CODE, 3)


def test_every_single_wrong_character_is_called_mistyped_or_was_a_twin() -> None:
    for at in range(len(CODE)):
        for wrong in "ACDEFHJKMNPRTVWX234679":
            typed = CODE[:at] + wrong + CODE[at + 1 :]
            if typed == CODE or typed.isalpha() or typed.isdigit():
                continue
            assert read_scan(typed).kind is Kind.MISTYPED, typed


@pytest.mark.parametrize("typed", ["AT-BLAST", "at-blast", "ATßBLAST", "AT:BLAST", "AT BLAST"])
def test_a_station_label_is_read(typed: str) -> None:
    scan = read_scan(typed)
    assert (scan.kind, scan.candidates) == (Kind.STATION, ("blast",))


@pytest.mark.parametrize("typed", ["AT-HOME", "AT-GONE", "AT-EXPECTED", "ATBLAST"])
def test_what_is_no_station_is_not_taken_for_one(typed: str) -> None:
    assert read_scan(typed).kind is not Kind.STATION


@pytest.mark.parametrize("typed", ["103", "#103", "T103", "t-103", "00103", " 103 "])
def test_a_tag_number_has_one_form(typed: str) -> None:
    assert tag_number(typed) == "103"
    assert read_scan(typed).kind is Kind.TAG


@pytest.mark.parametrize("typed", ["07700900123", "+44 7700 900123", "T", "12a", "123456"])
def test_telephone_numbers_and_words_are_no_tags(typed: str) -> None:
    assert tag_number(typed) == ""
    assert read_scan(typed).kind is Kind.WORDS


@pytest.mark.parametrize("typed", ["", "   ", "\r\n", "\t"])
def test_an_empty_scan_is_nothing(typed: str) -> None:
    assert read_scan(typed).kind is Kind.NOTHING


@pytest.mark.parametrize("typed", ["🛞" * 900, "x" * 100_000, "\x00\x01", "((((((", "J/" * 90])
def test_no_text_breaks_the_reading(typed: str) -> None:
    assert read_scan(typed).kind in (Kind.WORDS, Kind.NOTHING)


@pytest.mark.parametrize(("typed", "number"), scan_cases.TAGS.items())
def test_a_tag_is_read_whatever_the_keyboard_did(typed: str, number: str) -> None:
    scan = read_scan(typed)
    assert (scan.kind, scan.candidates) == (Kind.TAG, (number,))


@pytest.mark.parametrize(("typed", "named"), scan_cases.PAPER.items())
def test_a_paper_tag_is_read_whatever_the_keyboard_did(typed: str, named: tuple[str, int]) -> None:
    scan = read_scan(typed)
    # a swapped key makes a code look mistyped until what it may have been is looked up
    assert scan.kind in (Kind.CODE, Kind.MISTYPED)
    assert scan.part == named[1]
    assert named[0] in scan.candidates


@pytest.mark.parametrize(("typed", "station"), scan_cases.STATIONS.items())
def test_a_station_is_read_whatever_the_keyboard_did(typed: str, station: str) -> None:
    scan = read_scan(typed)
    assert (scan.kind, scan.candidates) == (Kind.STATION, (station,))


@pytest.mark.parametrize(("typed", "place"), scan_cases.SHELVES.items())
def test_a_place_on_the_shelf_is_read_whatever_the_keyboard_did(typed: str, place: str) -> None:
    scan = read_scan(typed)
    assert (scan.kind, scan.candidates) == (Kind.SHELF, (place,))


@pytest.mark.parametrize(("typed", "named"), scan_cases.BAGS.items())
def test_a_bag_is_read_whatever_the_keyboard_did(typed: str, named: tuple[str, str]) -> None:
    scan = read_scan(typed)
    assert (scan.kind, scan.bag) == (Kind.BAG, named[1])
    assert named[0] in scan.candidates


@pytest.mark.parametrize("typed", scan_cases.NEITHER)
def test_other_words_move_no_part(typed: str) -> None:
    scan = read_scan(typed)
    assert scan.kind not in (Kind.TAG, Kind.STATION, Kind.SHELF, Kind.BAG)
    assert not scan.part


@pytest.mark.parametrize(("typed", "reading"), scan_cases.READINGS.items())
def test_a_gauge_that_types_is_read(typed: str, reading: str) -> None:
    assert film_reading(typed) == reading


@pytest.mark.parametrize("typed", scan_cases.NO_READINGS)
def test_what_no_gauge_types_is_no_reading(typed: str) -> None:
    assert film_reading(typed) == ""
