"""Privacy and terms as plain text: a small, safe subset, and nothing that becomes markup."""

import pytest

from portal.craft.messages import CraftError
from portal.shop.policies import (
    LONGEST_POLICY,
    Block,
    BlockKind,
    Policy,
    read_blocks,
    read_policy,
    written,
)
from portal.shop.shop import bodies, read_shop

HEADING, PARAGRAPH, ITEM = BlockKind.HEADING, BlockKind.PARAGRAPH, BlockKind.ITEM


def test_headings_paragraphs_and_lists_are_read() -> None:
    text = "First line\nsecond line\n\n# What we keep\n- one\n- two\nafter the list\n## Deeper"
    assert read_blocks(text) == (
        Block(PARAGRAPH, "First line second line"),
        Block(HEADING, "What we keep"),
        Block(ITEM, "one"),
        Block(ITEM, "two"),
        Block(PARAGRAPH, "after the list"),
        Block(HEADING, "Deeper"),
    )


@pytest.mark.parametrize("text", ["", "\n \n", "#", "-", "# \n- \n\n##"])
def test_empty_marks_are_nothing(text: str) -> None:
    assert read_blocks(text) == ()


def test_markup_stays_text() -> None:
    (one,) = read_blocks("<b>bold</b> [link](javascript:x) *stars*")
    assert one == Block(PARAGRAPH, "<b>bold</b> [link](javascript:x) *stars*")


def test_what_was_read_and_written_reads_the_same_again() -> None:
    text = "One.\n\n# Two\n\n- three\n- four\n\nFive."
    assert written(read_blocks(text)) == text
    assert read_blocks(written(read_blocks(text))) == read_blocks(text)


def test_a_document_is_a_text_by_language() -> None:
    assert read_policy({"en": " Text. ", "de": "  "}) == {"en": "Text."}


@pytest.mark.parametrize("text", ["x" * (LONGEST_POLICY + 1), "bell \x07", 7])
def test_a_text_that_cannot_be_is_refused_by_its_language(text: object) -> None:
    with pytest.raises(CraftError) as told:
        read_policy({"de": text})
    assert told.value.key == "de"


def test_a_shop_file_may_bring_its_texts(shop_text: str, powders_text: str) -> None:
    text = shop_text + '\n[terms]\nen = "# Ours\\n\\nCome by bicycle."\n'
    assert bodies(text)["terms"] == {"en": "# Ours\n\nCome by bicycle."}
    shop = read_shop(text, powders_text)
    assert shop.policies[Policy.TERMS] == {"en": "# Ours\n\nCome by bicycle."}
    assert shop.policies[Policy.PRIVACY] == {}
