"""Shapes as sheets see them, messages as they are kept: each rule by a shape of its own."""

import copy
import json
import pickle
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from enum import Enum
from typing import Annotated, Any

import pytest

from portal.craft.colour_names import ColourName
from portal.craft.message_json import from_json, to_json
from portal.craft.messages import CraftError, Message, Phone, Plural, Sentences, joined
from portal.craft.parts import Gloss, Item
from portal.craft.quantities import Box, Quantity, Span, Unit
from portal.craft.reading import read
from portal.craft.schema import (
    ELSEWHERE,
    AskedWords,
    Exact,
    Flag,
    Label,
    Once,
    Table,
    TableKey,
    Text,
    amount,
    bare,
    entries,
    exact,
    inside,
    is_table,
    listed,
    longest,
    number,
    three_sides,
    whole,
    words_of,
)
from portal.shop.money import Money
from tests.readers import english, refusing


class Word(Enum):
    """Two words."""

    ONE = "one"
    TWO = "two"


@dataclass(frozen=True, slots=True)
class Row(Table):
    """A row of single values."""

    to: Annotated[Exact, amount(1, 100), Label(Message("Up to"))]
    sure: Flag = False


@dataclass(frozen=True, slots=True)
class Sheet(Table):
    """One key of each kind."""

    count: Annotated[int, whole(2, 40), Label(Message("Count"), unit=Message("days"), rare=True)]
    minutes: Annotated[float | None, number(0, 0.5)] = None
    note: Annotated[Text, longest(5), Label(Message("Note"), long=True)] = ""
    gloss: Gloss = Gloss.GLOSS
    items: Annotated[tuple[Item, ...], *Once] = ()
    rows: Annotated[tuple[Row, ...], longest(2)] = ()
    by_word: Annotated[Mapping[Word, Annotated[int, whole(0, 9)]], Label(Message("By word"))] = None  # type: ignore[assignment]
    grid: Annotated[Mapping[Word, Row], AskedWords((Word.TWO,))] = None  # type: ignore[assignment]
    hidden: Annotated[int, whole(0, 1), ELSEWHERE] = 0
    row: Row | None = None
    free: Mapping[str, int] | None = None


KEYS = entries(Sheet)


def test_a_key_knows_its_words_and_limits() -> None:
    count, note, gloss = KEYS["count"], KEYS["note"], KEYS["gloss"]
    assert list(KEYS) == [
        "count", "minutes", "note", "gloss", "items", "rows", "by_word", "grid", "hidden", "row",
        "free",
    ]  # fmt: skip
    assert count.label == Label(Message("Count"), unit=Message("days"), rare=True)
    assert (count.long, count.rare, note.long, note.rare) == (False, True, True, False)
    assert (gloss.label, gloss.long, gloss.rare) == (None, False, False)
    assert (count.span, KEYS["minutes"].span, note.span) == ((2, 40), (0, 0.5), (0, 0))
    assert (count.usual, note.usual, gloss.usual) == (None, "", Gloss.GLOSS)
    assert (count.kind, KEYS["minutes"].kind, count.key) == (int, float, "count")
    assert [key for key, one in KEYS.items() if one.is_word] == ["gloss"]


def test_a_key_knows_what_it_holds() -> None:
    assert KEYS["rows"].row == TableKey("", Row)
    assert [key for key, one in KEYS.items() if one.row is not None] == ["rows"]
    assert list(KEYS["row"].keys) == ["to", "sure"]
    assert list(KEYS["by_word"].keys) == ["one", "two"]
    one = KEYS["by_word"].keys["one"]
    assert (one.key, one.kind, one.label) == ("one", int, Label(Word.ONE))
    assert KEYS["free"].keys == KEYS["count"].keys == KEYS["items"].keys == {}
    assert words_of(Sheet) == tuple(KEYS)
    assert words_of(Mapping[Word, int]) == ("one", "two")
    assert words_of(int) == ()


def test_a_sheet_asks_for_what_no_other_page_changes() -> None:
    whole_sheet = TableKey("s", Sheet)
    assert [one.key for one in whole_sheet.asked] == [key for key in KEYS if key != "hidden"]
    assert [one.key for one in KEYS["grid"].asked] == ["two"]
    assert [one.key for one in KEYS["by_word"].asked] == ["one", "two"]


@dataclass(frozen=True, slots=True)
class Listed(Table):
    rows: tuple[Row, ...] = ()


@dataclass(frozen=True, slots=True)
class Mixed(Table):
    one: Row | None = None
    two: Listed | None = None


@dataclass(frozen=True, slots=True)
class Singles(Table):
    count: int = 1
    items: tuple[int, ...] = ()


@pytest.mark.parametrize(
    ("shape", "flat", "grid"),
    [
        (Row, True, False),
        (Listed, False, False),  # a list of rows alone is no row itself
        (Singles, False, False),  # a list of single values is no single value
        (Mapping[Word, Row], False, True),
        (Mapping[Word, int], True, False),
        (Mixed, False, False),
        (Mapping[Word, Listed], False, False),
        (int, False, False),
    ],
)
def test_what_is_a_row_and_what_a_grid(shape: Any, flat: bool, grid: bool) -> None:
    key = TableKey("x", shape)
    assert (key.is_flat, key.is_grid) == (flat, grid)


def test_a_type_without_what_stands_beside_it() -> None:
    assert bare(Annotated[int | None, "a"]) == (int, ("a",))
    assert bare(Annotated[Annotated[int, "b"], "a"]) == (int, ("b", "a"))
    assert bare(int | None) == (int, ())
    assert bare(int) == (int, ())
    assert inside(Sheet, "note")[0] is str
    assert inside(Sheet, "no such key") == (object, ())
    assert inside(tuple[Row, ...], 3) == (Row, ())
    assert inside(Mapping[Word, Annotated[int, "a"]], "one") == (int, ("a",))
    assert inside(int, "x") == (object, ())
    assert is_table(Row)
    assert not is_table(int)
    assert not is_table(tuple[Row, ...])


@pytest.mark.parametrize(
    ("value", "found"), [("62.50", Decimal("62.50")), (3, Decimal(3)), (Decimal("0.1"),) * 2]
)
def test_an_exact_figure(value: object, found: Decimal) -> None:
    assert exact(value) == found


@pytest.mark.parametrize(
    ("value", "says"),
    [
        (True, "Write this figure in quotes, like “62.50”."),
        (62.5, "Write this figure in quotes, like “62.50”."),
        (None, "Write this figure in quotes, like “62.50”."),
        ("6,50", "Enter an amount like “62.50”."),
    ],
)
def test_what_is_no_exact_figure_is_refused(value: object, says: str) -> None:
    with pytest.raises(CraftError) as bad:
        exact(value)
    assert english(bad.value.sentence) == says


def test_lists_and_sides() -> None:
    assert listed([1]) == [1]
    assert listed((1, 2)) == (1, 2)
    for wrong in ("ab", {"a": 1}, 1, None):
        with refusing(CraftError, r"^Write this as a list in square brackets\.$"):
            listed(wrong)
    assert three_sides(None) is None
    assert three_sides([1, 2, 3]) == [1, 2, 3]
    for sides in ([1, 2], [1, 2, 3, 4], "123", 3):
        with refusing(CraftError, r"^Enter length, width and height in mm\.$"):
            three_sides(sides)


@dataclass(frozen=True, slots=True)
class Typed(Table):
    text: Text = ""
    items: Annotated[tuple[Item, ...], *Once] = ()


@pytest.mark.parametrize("ch", ["\x00", "\x07", "\x1b", "\x7f", "\r"])
def test_what_cannot_be_printed_is_refused(ch: str) -> None:
    with refusing(CraftError, r"^Remove the characters that can't be printed\.$") as bad:
        read(Typed, {"text": f"a{ch}b"})
    assert bad.value.key == "text"
    assert read(Typed, {"text": "a\n\tb ½ µ"}).text == "a\n\tb ½ µ"


def test_each_word_counts_once() -> None:
    assert read(Typed, {"items": ["valve", "tyre", "valve"]}).items == (Item.VALVE, Item.TYRE)


# -- messages ---------------------------------------------------------------------------------

WHEELS = Plural("{count} wheel", "{count} wheels")
VALUES = [
    True, 3, 2.5, "text", None, ColourName("Jet black"), Gloss.SATIN, Phone("+441632960471"),
    Quantity(2.5, Unit.KG), Quantity(Decimal("0.20"), Unit.KG), Span(60, Decimal("90.5"), Unit.UM),
    Box((1, Decimal("2.5"), 3)), Decimal("62.50"), datetime(2026, 6, 1, 8, 0, tzinfo=UTC),
    date(2026, 6, 1), Sentences((Message("One."), Message("Two."))), (1, "a", Gloss.MATT),
    Message("inner {x}", x=Decimal(1)), WHEELS.of(3, more="x"), Money(4550, "GBP"),
]  # fmt: skip


@pytest.mark.parametrize("value", VALUES, ids=lambda one: type(one).__name__)
def test_a_message_is_kept_and_read_again(value: Any) -> None:

    was = Message("{x}", x=value)
    kept = json.loads(json.dumps(to_json(was)))
    found = from_json(kept)
    assert found == was
    assert type(found.values["x"]) is type(value)


def test_how_a_message_is_kept() -> None:
    assert to_json(Message("Hello {name}", name="Robin")) == {
        "msgid": "Hello {name}", "values": {"name": "Robin"},
    }  # fmt: skip
    assert to_json(WHEELS.of(2)) == {
        "msgid": "{count} wheel", "values": {"count": 2}, "many": "{count} wheels",
    }  # fmt: skip
    kept = to_json(Message("{a}", a=Quantity(Decimal("0.20"), Unit.KG)))
    assert kept["values"] == {"a": {"quantity": [{"decimal": "0.20"}, "kg"]}}
    assert to_json(Message("{a}", a=[1, date(2026, 6, 1)]))["values"] == {
        "a": {"list": [1, {"day": "2026-06-01"}]}
    }


def test_what_no_message_can_keep_is_refused() -> None:
    with pytest.raises(TypeError, match=r"^a message can't keep \{1\}$"):
        to_json(Message("{a}", a={1}))


def test_a_message_never_changes_and_has_no_words_of_its_own() -> None:
    one = Message("Hello {name}", name="Robin")
    with pytest.raises(AttributeError, match=r"^a message can't change: msgid = 'x'$"):
        one.msgid = "x"
    says = r"^a message has no words of its own; render\(message, reader\) makes them: Message\("
    with pytest.raises(TypeError, match=says):
        str(one)
    with pytest.raises(TypeError, match=says):
        f"{one}"
    assert repr(one) == "Message('Hello {name}', name='Robin')"
    assert repr(Message("{a}{b}", a=1, b=2)) == "Message('{a}{b}', a=1, b=2)"
    assert repr(Message("Hello")) == "Message('Hello')"


def test_messages_are_equal_when_they_say_the_same() -> None:
    one = WHEELS.of(2, more=1)
    assert one == WHEELS.of(2, more=1)
    assert one != WHEELS.of(3, more=1)
    assert one != Message("{count} wheel", count=2, more=1)
    assert one != Message("other", count=2, more=1)
    assert one != "{count} wheel"
    assert hash(one) == hash(WHEELS.of(3))
    assert hash(one) != hash(Message("{count} wheel", count=2))
    for again in (copy.copy(one), copy.deepcopy(one), pickle.loads(pickle.dumps(one))):
        assert again == one
        assert again.many == "{count} wheels"


def test_a_template_in_another_language() -> None:
    def other(text: str) -> str:
        return f"<{text}>"

    def others(text: str, many: str, n: int) -> str:
        return f"<{text}|{many}|{n}>"

    assert Message("Hello").template(other, others) == "<Hello>"
    assert Message("").template(other, others) == ""
    assert WHEELS.of(3).template(other, others) == "<{count} wheel|{count} wheels|3>"


def test_sentences_in_a_row() -> None:
    one, two = Message("One."), Message("Two.")
    assert joined([one]) is one
    assert joined([one, two]) == Message("{sentences}", sentences=Sentences((one, two)))
    assert english(joined([one, two])) == "One. Two."


def test_a_refusal_names_its_field_and_logs_its_message() -> None:
    refused = CraftError(Message("No {x}", x=1), key="sets[0].count")
    assert (refused.sentence, refused.key) == (Message("No {x}", x=1), "sets[0].count")
    assert str(refused) == "Message('No {x}', x=1)"
    assert CraftError(Message("No")).key == ""
