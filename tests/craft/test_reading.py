"""A table that a person wrote: what can't be is told with its key, in a sentence that helps."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Annotated, Any

import pytest

from portal.craft.messages import CraftError
from portal.craft.parts import Gloss, Item, Remover
from portal.craft.reading import read, write
from portal.craft.schema import (
    Exact,
    Flag,
    Once,
    Table,
    Text,
    amount,
    entries,
    longest,
    number,
    whole,
)
from tests.readers import english


@dataclass(frozen=True, slots=True)
class Row(Table):
    to: Annotated[Exact, amount(0, 100)]


@dataclass(frozen=True, slots=True)
class Sheet(Table):
    count: Annotated[int, whole(1, 40)]
    minutes: Annotated[float | None, number(0, 0.5)] = None
    note: Annotated[Text, longest(5)] = ""
    gloss: Gloss = Gloss.GLOSS
    sure: Flag = False
    items: Annotated[tuple[Item, ...], *Once] = ()
    rows: Annotated[tuple[Row, ...], longest(2)] = ()
    who: Mapping[Item, Remover] = field(default_factory=dict)


@pytest.mark.parametrize(
    ("wrong", "key", "sentence"),
    [
        ({"count": None}, "count", "Enter a whole number from 1 to 40."),
        ({"count": 4.0}, "count", "Enter a whole number from 1 to 40."),
        ({"count": 10**400}, "count", "Enter a whole number from 1 to 40."),
        ({"minutes": True}, "minutes", "Enter a number from 0 to 0.5."),
        ({"minutes": float("nan")}, "minutes", "Enter a number from 0 to 0.5."),
        ({"minutes": 10**400}, "minutes", "Enter a number from 0 to 0.5."),
        ({"note": 5}, "note", "Put this text in quotes."),
        ({"note": "abcdef"}, "note", "Use at most 5 characters."),
        ({"note": "a\x07"}, "note", "Remove the characters that can't be printed."),
        ({"gloss": "mat"}, "gloss", "We don't know this word. Did you mean “matt”?"),
        ({"gloss": "Matt"}, "gloss", "We don't know this word. Did you mean “matt”?"),
        ({"gloss": 7}, "gloss", "Enter one of these: matt, satin, gloss, high_gloss."),
        ({"sure": "yes"}, "sure", "Enter true or false."),
        ({"items": "tyre"}, "items", "Write this as a list in square brackets."),
        ({"items": ["tyre", "tire"]}, "items[1]", "We don't know this word. Did you mean “tyre”?"),
        ({"rows": [{"to": "1"}] * 3}, "rows", "Enter at most 2 lines."),
        ({"rows": [{}]}, "rows[0].to", "“to” is missing here."),
        ({"rows": [7]}, "rows[0]", "Write this as a table of keys and values."),
        ({"rows": [{"to": 1.5}]}, "rows[0].to", "Write this figure in quotes, like “62.50”."),
        ({"rows": [{"to": "1,5"}]}, "rows[0].to", "Enter an amount like “62.50”."),
        ({"rows": [{"to": "101"}]}, "rows[0].to", "Enter an amount from 0 to 100."),
        ({"rows": [{"to": "NaN"}]}, "rows[0].to", "Enter an amount from 0 to 100."),
        ({"who": []}, "who", "Write this as a table of keys and values."),
        ({"who": {"tyre": "me"}}, "who.tyre", "Enter one of these: you, us, stays."),
        ({"who": {"tire": "us"}}, "who.tire", "There is no key “tire” here. Did you mean “tyre”?"),
        ({"minute": 1}, "minute", "There is no key “minute” here. Did you mean “minutes”?"),
        ({5: 1}, "5", "There is no key “5” here. Use one of these: "),
    ],
)
def test_what_cannot_be_is_told_with_its_key(wrong: Any, key: str, sentence: str) -> None:
    with pytest.raises(CraftError) as told:
        read(Sheet, {"count": 4, **wrong})
    assert told.value.key == key
    assert english(told.value.sentence).startswith(sentence)


@pytest.mark.parametrize("wrong", [[], None, "count = 4"])
def test_what_is_no_table_is_told_so(wrong: Any) -> None:
    with pytest.raises(CraftError) as told:
        read(Sheet, wrong)
    assert told.value.key == ""
    assert english(told.value.sentence) == "Write this as a table of keys and values."


def test_what_is_read_is_written_back_without_what_says_nothing() -> None:
    body = {"count": 4, "items": ["tyre"], "rows": [{"to": "2.50"}], "who": {"tyre": "us"}}
    sheet = read(Sheet, body)
    assert sheet.rows == (Row(Decimal("2.50")),)
    assert write(sheet) == body
    assert read(Sheet, write(sheet)) == sheet


def test_a_word_counts_once() -> None:
    assert read(Sheet, {"count": 1, "items": ["tyre", "valve", "tyre"]}).items == (
        Item.TYRE,
        Item.VALVE,
    )


def test_a_shape_tells_what_it_may_hold() -> None:
    assert list(entries(Sheet)) == [
        *("count", "minutes", "note", "gloss", "sure", "items", "rows", "who")
    ]
