"""Messages become words: their template in a language, their values as its readers write them."""

from datetime import UTC, date, datetime
from decimal import Decimal
from gettext import NullTranslations
from zoneinfo import ZoneInfo

import pytest

from portal.craft.colour_names import ColourName
from portal.craft.message_json import from_json, to_json
from portal.craft.messages import Message, Phone, Plural
from portal.craft.parts import FaceStyle, Item
from portal.craft.quantities import Box, Span, Unit, celsius, kg, m2, micron, mm
from portal.render import catalogues
from portal.render.days import clock_time, day, short_day
from portal.render.money import amount, money
from portal.render.phones import phone, telephone
from portal.render.reader import Reader
from portal.render.text import label, own, render
from portal.shop.money import Money
from tests.readers import INCHES, english, read, read_in

WHEELS = Plural("{count} wheel", "{count} wheels")


class German(NullTranslations):
    """A catalogue of three sentences."""

    def gettext(self, message: str) -> str:
        return {"{n} wheels": "{n} Räder"}.get(message, message)

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return "{count} Rad" if n == 1 else "{count} Räder"


@pytest.fixture
def german(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("portal.render.text.catalogue", lambda _language: German())


@pytest.mark.usefixtures("german")
def test_a_message_is_translated_by_its_template() -> None:
    assert read_in(Message("{n} wheels", n=4), "de") == "4 Räder"
    assert read_in(WHEELS.of(1), "de") == "1 Rad"
    assert read_in(WHEELS.of(2), "de") == "2 Räder"


@pytest.mark.usefixtures("german")
def test_a_message_that_was_kept_has_both_of_its_forms() -> None:
    assert read_in(from_json(to_json(WHEELS.of(1))), "de") == "1 Rad"
    assert read_in(from_json(to_json(WHEELS.of(3))), "de") == "3 Räder"


@pytest.mark.parametrize(
    ("value", "in_english", "in_german"),
    [
        (Item.TYRE, "Tyre", "Reifen"),
        (Money(900, "GBP"), "£9", "9 £"),
        (Money(123_450, "EUR"), "€1,234.50", "1.234,50 €"),
        (date(2026, 6, 2), "Tuesday 2 June", "Dienstag, 2. Juni"),
        (ColourName("Jet black satin"), "Jet black satin", "Tiefschwarz seidenglänzend"),
        (kg(0.8), "0.8 kg", "0,8 kg"),
        (Decimal("62.50"), "62.50", "62,50"),
        (7.5, "7.5", "7,5"),
        (1012, "1012", "1012"),
        (Box((1250, 80.5)), "1,250 × 80.5 mm", "1.250 × 80,5 mm"),
        (Span(60, 90, Unit.UM), "60 to 90 µm", "60 bis 90 µm"),
        (Phone("+441632960471"), "+44 1632 960471", "+44 1632 960471"),
        ("X 2.5 Y", "X 2.5 Y", "X 2.5 Y"),
        ([Item.TYRE, Item.VALVE], "Tyre, Valve", "Reifen, Ventil"),
        (Message("wheels"), "wheels", "Räder"),
    ],
)
def test_a_value_is_written_as_its_reader_writes_it(value, in_english: str, in_german: str) -> None:
    within = Message("({x})", x=value)
    assert english(within) == f"({in_english})"
    assert read_in(within, "de") == f"({in_german})"
    assert read_in(from_json(to_json(within)), "de") == f"({in_german})"


def test_signs_of_formatting_in_what_was_typed_stay_as_typed() -> None:
    assert english(Message("Note: {note}", note="100 % {x} %(y)s")) == "Note: 100 % {x} %(y)s"
    assert english(Message("100 % sure")) == "100 % sure"


def test_a_moment_is_read_in_the_shops_zone() -> None:
    summer = datetime(2026, 6, 1, 23, 30, tzinfo=UTC)
    here = Reader(zone=ZoneInfo("Europe/London"))
    assert (day(summer, here), clock_time(summer, here)) == ("Tuesday 2 June", "00:30")
    assert short_day(summer, here) == "Tue 2 Jun"
    assert render(Message("By {day}", day=summer), here) == "By Tuesday 2 June"


def test_a_language_that_nobody_knows_is_read_as_english() -> None:
    assert read_in(Message("By {day}", day=date(2026, 6, 1)), "xx") == "By Monday 1 June"


# the order is the language's own (CLDR), no line of ours
@pytest.mark.parametrize(
    ("language", "written"), [("el", "Δευτέρα 1 Ιουνίου"), ("sv", "måndag 1 juni")]
)
def test_a_day_needs_no_line_of_ours_in_another_language(language: str, written: str) -> None:
    assert day(date(2026, 6, 1), Reader(language)) == written


def test_sums_have_their_pence_in_columns_alone() -> None:
    assert money(Money(123_400, "GBP"), Reader()) == "£1,234.00"
    assert amount(Money(123_400, "GBP"), Reader()) == "£1,234"
    assert amount(Money(123_400, "GBP"), Reader("es")) == "1.234 £".replace(" ", "\u00a0")


def test_the_shops_own_words_come_first() -> None:
    there = Reader("de", own={"Jet black": "Schwarz wie die Nacht", "Ring twice.": "Zweimal."})
    assert render(ColourName("Jet black"), there) == "Schwarz wie die Nacht"
    assert own("Ring twice.", there) == "Zweimal."
    assert own("Knock.", there) == "Knock."


def test_a_word_of_the_trade_has_its_label() -> None:
    assert label(FaceStyle.MESH, Reader()) == "Mesh"
    assert label("", Reader("de")) == ""


def test_a_telephone_number_is_written_as_at_home_or_with_its_country() -> None:
    home = Reader(country="GB")
    assert telephone("+441632960471", home) == "01632 960471"
    assert telephone("+4930123456", home).startswith("+49 30")
    assert phone("who knows", home) == telephone("who knows", home) == "who knows"


# 1 in = 25.4 mm and 1 lb = 0.45359237 kg, exact (international yard and pound agreement, 1959);
# 1 mil = 1/1000 in; °F = °C × 9/5 + 32
@pytest.mark.parametrize(
    ("metric", "customary"),
    [
        (mm(254), "10 in"),
        (mm(1270), "50 in"),
        (mm(0.1), "0.0039 in"),
        (Box((600, 80, 80)), "23.6 × 3.1 × 3.1 in"),
        (Span(0.06, 0.1, Unit.MM), "0.0024 to 0.0039 in"),
        (Span(60, 90, Unit.UM), "2.4 to 3.5 mil"),
        (celsius(180), "356 °F"),
        (celsius(100), "212 °F"),
        (micron(80), "3.1 mil"),
        (kg(0.5), "1.1 lb"),
        (kg(45.4), "100 lb"),
        (m2(0.5), "5.4 ft²"),
    ],
)
def test_a_measure_is_read_in_inches_by_whoever_likes_them(metric, customary: str) -> None:
    assert read(metric, INCHES) == customary
    german = Reader("de", units=INCHES.units)
    assert read(metric, german) == customary.replace(".", ",").replace("to", "bis")


def test_english_needs_no_catalogue(tmp_path) -> None:
    assert catalogues.languages(tmp_path) == {"en": "English"}
