"""A document as a sheet and back: nothing is lost, blanks are left out, errors find their cell."""

import tomllib

import pytest

from portal.craft.parts import PartKind
from portal.shop.pricing.part_prices import PricedBy
from portal.shop.pricing.price_list import read_tariff
from portal.shop.shop import KINDS, bodies
from portal.shop.states import DocumentKind
from portal.shop.translations import TRANSLATIONS
from portal.web.office import filled, sheets


@pytest.fixture
def documents(shop_text):
    return bodies(shop_text)


@pytest.fixture
def speaking(app):
    """Words are looked up in the language of a request."""
    with app.test_request_context():
        yield


def typed_of(sheet) -> dict[str, str]:
    """What the browser would send if the sheet were saved as it stands."""
    sent = {}
    for cell in sheet.all_cells():
        if cell.kind != "tick":
            sent[cell.name] = cell.text
        elif cell.text:
            sent[cell.name] = "y"
    return sent


@pytest.mark.parametrize("kind", KINDS)
def test_a_document_saved_as_it_stands_is_the_same(documents, speaking, kind) -> None:
    body = documents[kind]
    made, _ = filled.parse(kind, body, typed_of(sheets.sheet_of(kind, body)))
    empty = {key: value for key, value in body.items() if value in ("", [])}
    assert made == {key: value for key, value in body.items() if key not in empty} | {
        key: value for key, value in made.items() if key in empty
    }


@pytest.mark.parametrize("kind", KINDS)
def test_every_key_has_words(documents, speaking, kind) -> None:
    sheet = sheets.sheet_of(kind, documents[kind])
    bare = [cell.path for cell in sheet.all_cells() if "_" in str(cell.label)]
    assert bare == []
    heads = [str(head) for grid in _grids(sheet) for head in grid.heads]
    assert not [head for head in heads if "_" in head]


def _grids(sheet):
    yield from sheet.grids
    for inner in sheet.inner:
        yield from _grids(inner)


def test_a_row_is_added_and_another_is_taken_away(documents, speaking) -> None:
    body = documents["prices"]
    sent = typed_of(sheets.sheet_of("prices", body))
    bands = body["wheels"]["bands"]
    sent["b.wheels.bands.0.up_to"] = sent["b.wheels.bands.0.price"] = ""
    sent[f"b.wheels.bands.{len(bands)}.up_to"] = "32"
    sent[f"b.wheels.bands.{len(bands)}.price"] = "150,00"
    made, rows = filled.parse("prices", body, sent)
    assert made["wheels"]["bands"] == [*bands[1:], {"up_to": 32, "price": "150.00"}]
    assert rows["wheels.bands"][0] == 1


def test_an_error_finds_the_row_that_the_person_sees(documents, speaking) -> None:
    body = documents["prices"]
    sheet = sheets.sheet_of("prices", body)
    rows = {"wheels.bands": [1, 2, 3]}
    assert sheets.cell_of(sheet, "wheels.bands[1].price", rows).path == "wheels.bands.2.price"
    assert sheets.cell_of(sheet, "wheels.bands", rows).path.startswith("wheels.bands.")
    assert sheets.cell_of(sheet, "nonsense", rows) is None


def test_what_could_not_be_read_is_kept_as_it_was_typed(documents, speaking) -> None:
    body = documents["stations"]
    sent = typed_of(sheets.sheet_of("stations", body)) | {"b.prep.places": "two"}
    made, _ = filled.parse("stations", body, sent)
    assert made["prep"]["places"] == "two"  # the reader of the document refuses it in its words


def test_a_day_without_hours_is_closed(documents, speaking) -> None:
    body = documents["week"]
    sent = typed_of(sheets.sheet_of("week", body)) | {"b.pickup.sat": " "}
    made, _ = filled.parse("week", body, sent)
    assert "sat" not in made["pickup"]
    assert made["work"] == body["work"]


def test_a_station_that_is_out_of_order_stays_so(documents, speaking) -> None:
    span = {"from": "2026-06-01T08:00:00+00:00", "to": "2026-06-02T08:00:00+00:00"}
    body = documents["stations"] | {"blast": documents["stations"]["blast"] | {"down": [span]}}
    made, _ = filled.parse("stations", body, typed_of(sheets.sheet_of("stations", body)))
    assert made["blast"]["down"] == [span]


def test_a_price_list_from_before_a_kind_was_known_offers_it_and_stays_as_it_is(
    documents, speaking
) -> None:
    body = documents["prices"]
    body["parts"] = {key: one for key, one in body["parts"].items() if key != "chair"}
    sheet = sheets.sheet_of("prices", body)
    cells = {cell.path: cell.text for cell in sheet.all_cells()}
    assert cells["parts.chair.per_m2"] == ""
    assert filled.parse("prices", body, typed_of(sheet))[0] == body


def test_a_part_can_be_priced_in_another_way(documents, speaking) -> None:
    body = documents["prices"]
    sent = typed_of(sheets.sheet_of("prices", body)) | {
        "b.parts.caliper.by": "area",
        "b.parts.caliper.price": "",
        "b.parts.caliper.per_m2": "70",
        "b.parts.caliper.at_least": "30,50",
    }
    made, _ = filled.parse("prices", body, sent)
    caliper = read_tariff(made).parts[PartKind.CALIPER]
    assert (caliper.by, caliper.per_m2, caliper.at_least) == (PricedBy.AREA, 7000, 3050)


def test_what_is_rare_is_asked_for_where_it_is_used(documents, speaking) -> None:
    body = documents["stations"]
    paths = {cell.path for cell in sheets.sheet_of("stations", body).all_cells()}
    assert "prep.pace" not in paths
    paced = body | {"blast": body["blast"] | {"pace": 1.2}}
    sheet = sheets.sheet_of("stations", paced)
    assert {"prep.pace", "blast.pace"} <= {cell.path for cell in sheet.all_cells()}
    assert filled.parse("stations", paced, typed_of(sheet))[0] == paced


@pytest.mark.parametrize(
    ("kind", "path", "words"),
    [
        ("prices", "wheels.bands[3].price", "Wheels · Price by size · row 4 · Price"),
        ("prices", "removal.off.tyre", "Taking off and fitting · Taking off (prices) · Tyre"),
        ("week", "closures.0.to", "Closed · row 1 · To"),
        ("stations", "prep.minutes", "Prep · Minutes"),
        ("stations", "blast.down[0].from", "Blast · down · row 1 · from"),
    ],
)
def test_a_place_in_a_document_has_words(speaking, kind, path, words) -> None:
    assert sheets.named(kind, path) == words


def test_numbers_near_money_never_become_floats(documents, speaking) -> None:
    body = documents["prices"]
    sent = typed_of(sheets.sheet_of("prices", body)) | {"b.wheels.assume": "18.5"}
    made, _ = filled.parse("prices", body, sent)
    assert not [value for value in _values(made) if isinstance(value, float)]


def _values(value):
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list):
        for one in value:
            yield from _values(one)
    else:
        yield value


def test_the_seed_is_what_is_tested(shop_text) -> None:
    assert set(tomllib.loads(shop_text)) == {*KINDS, TRANSLATIONS, DocumentKind.INVOICING}
