"""The shop's own pages on privacy and terms: plain text with headings, paragraphs and lists.

A line that begins with `#` is a heading, lines that begin with `-` are a list, an empty line ends a
paragraph. Nothing else has a meaning, so that no text can become markup.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated, Any

from portal.craft.messages import Message
from portal.craft.parts import Titled
from portal.craft.reading import read
from portal.craft.schema import Text, longest
from portal.shop.works import ByKey

LONGEST_POLICY = 12_000
MARKS = ("#", "-")
ByLanguage: Any = Annotated[Mapping[str, Annotated[Text, longest(LONGEST_POLICY)]], ByKey]


class Policy(Titled):
    """A page about the customer's rights."""

    PRIVACY = "privacy", "Privacy"
    TERMS = "terms", "Terms"


class BlockKind(StrEnum):
    """The kind of a block."""

    HEADING = "heading"
    PARAGRAPH = "paragraph"
    ITEM = "item"


@dataclass(frozen=True, slots=True)
class Block:
    """One heading, paragraph or entry of a list."""

    kind: BlockKind
    says: Message | str


def read_blocks(text: str) -> tuple[Block, ...]:
    """Parse a text into its blocks, in order."""
    found: list[Block] = []
    paragraph: list[str] = []

    def end() -> None:
        if paragraph:
            found.append(Block(BlockKind.PARAGRAPH, " ".join(paragraph)))
            paragraph.clear()

    for line in (line.strip() for line in text.splitlines()):
        marked = line.lstrip("#").strip() if line.startswith("#") else line[1:].strip()
        if not line:
            end()
        elif line[0] in MARKS and marked:
            end()
            kind = BlockKind.HEADING if line[0] == "#" else BlockKind.ITEM
            found.append(Block(kind, marked))
        elif line[0] not in MARKS:
            paragraph.append(line)
    end()
    return tuple(found)


def written(blocks: Iterable[Block]) -> str:
    """Format blocks as the text that `read_blocks` parses."""
    out: list[str] = []
    before = None
    for one in blocks:
        mark = {BlockKind.HEADING: "# ", BlockKind.ITEM: "- "}.get(one.kind, "")
        if before is not None and not (before is one.kind is BlockKind.ITEM):
            out.append("")
        out.append(f"{mark}{one.says}")
        before = one.kind
    return "\n".join(out)


def read_policy(body: Mapping[str, Any]) -> Mapping[str, str]:
    """Read a document: the text by language; raises CraftError naming the language."""
    found: Mapping[str, str] = read(ByLanguage, body)
    return found
