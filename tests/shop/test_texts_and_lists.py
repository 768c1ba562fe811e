"""Plain texts, lists of powders and lines of TOML, each rule by a case of its own."""

import pytest

from portal.craft.messages import CraftError
from portal.shop.policies import Block, BlockKind, read_blocks, written
from portal.shop.powder_list import COLUMNS, read_powder, read_powders
from portal.shop.toml_lines import line_of
from tests.readers import english, refusing

# -- texts, powders, lines --------------------------------------------------------------------

HEADING, PARAGRAPH, ITEM = BlockKind.HEADING, BlockKind.PARAGRAPH, BlockKind.ITEM


@pytest.mark.parametrize(
    ("text", "blocks"),
    [
        ("a\n-b\nc", [(PARAGRAPH, "a"), (ITEM, "b"), (PARAGRAPH, "c")]),
        ("#a\nb\n\n\nc", [(HEADING, "a"), (PARAGRAPH, "b"), (PARAGRAPH, "c")]),
        ("a\n#\nb", [(PARAGRAPH, "a b")]),
        ("- #a", [(ITEM, "#a")]),
        ("--a", [(ITEM, "-a")]),
        ("### a # b", [(HEADING, "a # b")]),
    ],
)
def test_blocks_of_a_text(text: str, blocks) -> None:
    assert read_blocks(text) == tuple(Block(*one) for one in blocks)


def test_blocks_are_written_with_empty_lines_but_within_a_list() -> None:
    blocks = [
        Block(ITEM, "a"), Block(ITEM, "b"), Block(HEADING, "c"), Block(HEADING, "d"),
        Block(PARAGRAPH, "e"), Block(PARAGRAPH, "f"), Block(ITEM, "g"),
    ]  # fmt: skip
    assert written(blocks) == "- a\n- b\n\n# c\n\n# d\n\ne\n\nf\n\n- g"
    assert written([]) == ""


ROW = {
    "code": " R9005-S ", "name": " Jet black ", "ral": "9005", "l": "5", "a": "0.1", "b": "-0.2",
    "gloss_gu": "45.0", "effect": "solid", "density": "1.5", "film_low_um": "60",
    "film_high_um": "90", "cure_c": "180", "cure_min": "15", "stock_kg": "12.5", "box_kg": "20",
    "lead_days": "7",
}  # fmt: skip


def test_a_powder_is_read_column_by_column() -> None:
    found = read_powder(ROW)
    assert (found.code, found.name, found.ral) == ("R9005-S", "Jet black", "9005")
    assert (found.lab, found.gloss_gu, found.effect.value) == ((5, 0.1, -0.2), 45, "solid")
    assert (found.density, found.film_um, found.cure) == (1.5, (60, 90), (180, 15))
    assert (found.stock_kg, found.box_kg, found.lead_days) == (12.5, 20, 7)
    assert read_powder({**ROW, "name": ""}).name == "R9005-S"
    assert read_powder({**ROW, "name": "x" * 81}).name == "x" * 80
    assert read_powder({**ROW, "ral": "123456789"}).ral == "12345678"
    assert read_powder({**ROW, "film_low_um": "90"}).film_um == (90, 90)


LIMITS = {
    "l": (0, 100), "a": (-130, 130), "b": (-130, 130), "gloss_gu": (0, 100), "density": (0.8, 3),
    "film_low_um": (10, 90), "film_high_um": (60, 400), "cure_c": (100, 260), "cure_min": (1, 120),
    "stock_kg": (0, 100_000), "box_kg": (0.1, 1000), "lead_days": (0, 200),
}  # fmt: skip


@pytest.mark.parametrize("column", LIMITS)
def test_a_figure_of_a_powder_has_its_limits(column: str) -> None:
    low, high = LIMITS[column]
    for fits in (low, high):
        read_powder({**ROW, column: str(fits)})
    for beyond in (low - 1, high + 1, "", "x", "nan"):
        with pytest.raises(CraftError) as bad:
            read_powder({**ROW, column: str(beyond)})
        assert bad.value.key in (column, "film_low_um")


@pytest.mark.parametrize("code", ["", " ", "x" * 17, "Ä"])
def test_a_code_of_a_powder_is_short_and_plain(code: str) -> None:
    with refusing(
        CraftError, "^Use 1 to 16 letters, digits or dashes for a powder's code.$"
    ) as bad:
        read_powder({**ROW, "code": code})
    assert bad.value.key == "code"
    assert read_powder({**ROW, "code": "x" * 16}).code == "x" * 16


def test_a_list_of_powders_names_line_and_column() -> None:
    head, row = ",".join(COLUMNS), ",".join(ROW[name] for name in COLUMNS)
    assert list(read_powders(f"{head}\n{row}\n")) == ["R9005-S"]
    for text, key, says in (
        (head.replace("cure_c", "cure"), "line 1", "The column “cure_c” is missing."),
        ("", "line 1", "The column “code” is missing."),
        (f"{head}\n{row}\n{row}", "line 3, code", "This code is in the list twice."),
        (
            f"{head}\n{row.replace(',60,', ',91,')}",
            "line 2, film_low_um",
            "The lowest film thickness must come before the highest.",
        ),
    ):
        with pytest.raises(CraftError) as bad:
            read_powders(text)
        assert (bad.value.key, english(bad.value.sentence)) == (key, says)


@pytest.mark.parametrize(
    ("path", "line"),
    [
        ("a", 1),
        ("b.c", 2),
        ("b.c.d", 3),
        ("b.c.late", 7),
        ("b.c.x", 2),
        ("s[0]", 8),
        ("s[0].k", 9),
        ("s[1]", 12),
        ("s[0].t.u.v", 11),
        ("s[2]", None),
        ("z", None),
    ],
)
def test_the_line_of_a_key(path: str, line: int | None) -> None:
    text = (
        "a = 1\n[b.c]  # the table\nd = '''\n[x]\nx = '\"\"\"'\n'''\nlate = 2\n[[s]]\nk = 1\n"
        "[ s . t ]\nu . v = 3\n[[s]]\n"
    )
    assert line_of(text, path) == line
