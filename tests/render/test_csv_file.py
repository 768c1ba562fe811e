"""Tables for a spreadsheet: read back by the standard library's reader, in each language."""

import csv
import io
from datetime import UTC, date, datetime
from decimal import Decimal
from itertools import count
from zoneinfo import ZoneInfo

import pytest

from portal.craft.messages import Message
from portal.render.csv_file import AT_A_TIME, csv_file, csv_pieces
from portal.render.reader import Reader
from portal.shop.money import Money
from portal.shop.moves import JobState
from portal.shop.verbs import EventVerb

LONDON = ZoneInfo("Europe/London")
HEADS = (Message("Price"), Message("Day"))


def read(data: bytes, delimiter: str = ",") -> list[list[str]]:
    # "utf-8-sig" takes the mark away; "utf-8" would leave it before the first head
    assert data.startswith(b"\xef\xbb\xbf")
    return list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""), delimiter=delimiter))


@pytest.mark.parametrize(
    ("value", "english", "german"),
    [
        (Money(123450, "GBP"), "1234.50", "1234,50"),
        (Money(-5, "EUR"), "-0.05", "-0,05"),
        (Decimal("0.200"), "0.200", "0,200"),
        (0.1, "0.1", "0,1"),
        (1e-7, "0.0000001", "0,0000001"),
        (12000, "12000", "12000"),
        (True, "yes", "ja"),
        (None, "", ""),
        (datetime(2026, 6, 1, 23, 30, tzinfo=UTC), "2026-06-02 00:30", "2026-06-02 00:30"),
        (date(2026, 6, 1), "2026-06-01", "2026-06-01"),
        (JobState.BOOKED, "Booked", "Gebucht"),
        (EventVerb.BOOK, "book", "book"),
        (Message("Price"), "Price", "Preis"),
        ({"b": 1, "a": "ü"}, '{"a": "ü", "b": 1}', '{"a": "ü", "b": 1}'),
        ('two "rims";\n17, 18', 'two "rims";\n17, 18', 'two "rims";\n17, 18'),
    ],
)
def test_a_value_is_written_for_a_spreadsheet(value, english, german):
    for language, delimiter, told in (("en", ",", english), ("de", ";", german)):
        made = csv_file(HEADS, [(value, "Škoda")], Reader(language, LONDON))
        assert read(made, delimiter)[1] == [told, "Škoda"]


def test_heads_are_in_the_readers_language():
    assert read(csv_file(HEADS, [], Reader("en"))) == [["Price", "Day"]]
    assert read(csv_file(HEADS, [], Reader("de")), ";") == [["Preis", "Tag"]]
    assert read(csv_file(HEADS, [], Reader("es")), ";") == [["Precio", "Día"]]


@pytest.mark.parametrize(
    "text",
    [
        *('=HYPERLINK("x")', "@SUM(A1)", "+1+1", "-2+3", "\t=1", "\r=1", "\n=1"),
        *("−1+1", "＝1", "+1-1", "+44 (0)", "-1 1", "+١", "--1"),
    ],
)
def test_a_text_that_a_spreadsheet_would_run_is_made_harmless(text):
    assert read(csv_file(HEADS, [(text, "+441632960001")], Reader()))[1] == [
        f"'{text}", "+441632960001"
    ]  # fmt: skip


@pytest.mark.parametrize("text", ["+441632960001", "+44 7700 900123", "-5", "+5", "-0.25", "-1,5"])
def test_a_telephone_and_a_number_are_left_as_they_are(text):
    assert read(csv_file(HEADS, [(text, "x")], Reader()))[1] == [text, "x"]


def test_a_long_table_is_never_held_as_a_whole():
    taken = count()
    pieces = csv_pieces(HEADS, ((next(taken), "x") for _ in range(3 * AT_A_TIME)), Reader())
    first = next(pieces)
    assert next(taken) == AT_A_TIME - 1  # the heads are a row, too
    assert len(read(first + b"".join(pieces))) == 3 * AT_A_TIME + 1
