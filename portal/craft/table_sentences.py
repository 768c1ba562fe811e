"""The sentences of the trade's tables, for a message catalogue.

An extraction method of Babel: a mapping file names it under `[extractors]` as
`tables = portal.craft.table_sentences:extract`, and its files under
`[tables: portal/craft/data/**.toml]`.
"""

import tomllib
from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Any, BinaryIO

# what names a thing and isn't shown as a sentence
UNTRANSLATED = frozenset({"name", "key", "country"})
# what is shown even where it is a single word
WORDS = frozenset({"title", "date"})


def extract(
    fileobj: BinaryIO,
    _keywords: Collection[str] = (),
    _comment_tags: Collection[str] = (),
    options: Mapping[str, Any] | None = None,
) -> Iterator[tuple[int, str, str, list[str]]]:
    """Yield (line, "Message", sentence, no comments) for every sentence of a table, once each."""
    text = fileobj.read().decode((options or {}).get("encoding", "utf-8"))
    lines = text.splitlines()
    for sentence in dict.fromkeys(sentences(tomllib.loads(text))):
        first = next((i for i, line in enumerate(lines, 1) if sentence in line), 0)
        yield (first, "Message", sentence, [])


def sentences(value: object, key: str = "") -> Iterator[str]:
    """Yield every title and date, and every text of more than one word but names."""
    if isinstance(value, str):
        if key in WORDS or (key not in UNTRANSLATED and " " in value):
            yield value
    elif isinstance(value, Mapping):
        for name, inner in value.items():
            yield from sentences(inner, name)
    elif isinstance(value, Iterable):
        for inner in value:
            yield from sentences(inner, key)
