"""The message catalogues: drawn from the sources, brought up to date, and looked through.

`python -m tests.house.catalogues` (`make messages`) writes the template and updates every
language; what is new in it stands there untranslated, and `make check` names it.
"""

import re
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from babel.messages.catalog import Catalog, Message
from babel.messages.extract import DEFAULT_KEYWORDS, extract_from_dir
from babel.messages.frontend import parse_mapping_cfg
from babel.messages.pofile import read_po, write_po

from tests.house.files import HOUSE

LOCALE = HOUSE / "portal" / "locale"
TEMPLATE = LOCALE / "messages.pot"
KEYWORDS = DEFAULT_KEYWORDS | {"Message": None, "_l": None, "lazy_gettext": None}
FOLDERS = ("portal", "templates")
BIRTHDAY = datetime(2026, 1, 1, tzinfo=UTC)  # a date that moved would make every run a change

BRACES = re.compile(r"\{(\w*)[^}]*\}")
PERCENTS = re.compile(r"%\((\w+)\)[a-z]|%%")
TAGS = re.compile(r"</?[a-zA-Z][^<>]*>|&[a-z#0-9]+;")


def shipped() -> tuple[str, ...]:
    """Return the languages that have a catalogue."""
    return tuple(sorted(path.parent.parent.name for path in LOCALE.glob("*/LC_MESSAGES/*.po")))


def path_of(language: str) -> Path:
    return LOCALE / language / "LC_MESSAGES" / "messages.po"


def fresh() -> Catalog:
    """Draw every sentence from the sources."""
    with (LOCALE / "babel.cfg").open(encoding="utf-8") as lines:
        methods, options = parse_mapping_cfg(lines)
    drawn = Catalog(
        project="portal",
        version="1",
        creation_date=BIRTHDAY,
        charset="utf-8",
        fuzzy=False,
        header_comment="# The sentences of the portal. `make messages` writes this file.",
        msgid_bugs_address="portal@example.com",
    )
    for name, line, text, comments, context in extract_from_dir(
        HOUSE, methods, options, keywords=KEYWORDS, directory_filter=_holds_sentences
    ):
        if text and text != ("", ""):
            _refuse_both_ways(drawn, text, context)
            drawn.add(text, None, [(name, line)], auto_comments=comments, context=context)
    return drawn


def _refuse_both_ways(drawn: Catalog, text: str | tuple[str, ...], context: str | None) -> None:
    """Raise ValueError where a sentence is said with a plural and also without one.

    A catalogue keeps both as one entry, and Python 3.11.2 finds the translation of such an
    entry only for those who ask with a number.
    """
    before = drawn.get(text if isinstance(text, str) else text[0], context)
    if before is not None and isinstance(before.id, str) != isinstance(text, str):
        msg = f"said with a plural and also without one: {text!r}"
        raise ValueError(msg)


def _holds_sentences(folder: str) -> bool:
    inside = Path(folder).relative_to(HOUSE)
    return not inside.parts or inside.parts[0] in FOLDERS


def kept(path: Path) -> Catalog:
    """Read a catalogue from disk."""
    with path.open("rb") as file:
        return read_po(file, ignore_obsolete=True)


def write(catalogue: Catalog, path: Path) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    for message in catalogue:
        # whether drawn from the sources or read from disk, the order of the file is the same
        message.locations = sorted({(name, 0) for name, _ in message.locations})
    with path.open("wb") as file:
        # sorted by file and without line numbers: two people's changes seldom meet
        write_po(file, catalogue, width=100, sort_by_file=True, include_lineno=False,
                 ignore_obsolete=True)  # fmt: skip


def sentences(catalogue: Catalog) -> set[str | tuple[str, ...]]:
    """Every sentence; one that has a meaning of its own stands as `meaning: sentence`."""
    return {
        f"{m.context}: {m.id}" if m.context else m.id if isinstance(m.id, str) else tuple(m.id)
        for m in catalogue
        if m.id
    }


def faults(catalogue: Catalog, template: Catalog) -> Iterator[str]:
    """Yield what is wrong with a language: missing, left over, doubtful, or badly filled."""
    missing, left = sentences(template), sentences(catalogue)
    yield from (f"not in the catalogue: {one}" for one in missing - left)
    yield from (f"nobody says this any more: {one}" for one in left - missing)
    for message in catalogue:
        if message.id:
            yield from (f"{wrong}: {message.id}" for wrong in wrong_with(message))


def wrong_with(message: Message) -> Iterator[str]:
    """Yield what is wrong with one translated sentence."""
    asked = message.id if isinstance(message.id, tuple) else (message.id,)
    told = message.string if isinstance(message.string, tuple) else (message.string,)
    if message.fuzzy:
        yield "doubtful"
    if not all(told):
        yield "not translated"
        return
    for text in told:
        if _holes(text) not in [_holes(one) for one in asked]:
            yield f"other placeholders in “{text}”"
        if sorted(TAGS.findall(text)) not in [sorted(TAGS.findall(one)) for one in asked]:
            yield f"markup in “{text}”"
        if (text[:1].isspace(), text[-1:].isspace()) != (
            asked[0][:1].isspace(),
            asked[0][-1:].isspace(),
        ):
            yield f"space around “{text}”"


def _holes(text: str) -> tuple[set[str], set[str]]:
    return set(BRACES.findall(text)), set(PERCENTS.findall(text))


def main() -> None:
    """Write the template, and bring every language up to it."""
    template = fresh()
    write(template, TEMPLATE)
    print(f"{len(template)} sentences")
    for language in shipped():
        catalogue = kept(path_of(language))
        catalogue.update(template, no_fuzzy_matching=True)
        write(catalogue, path_of(language))
        open_ = sum(1 for m in catalogue if m.id and not all(_texts(m)))
        print(f"{language}: {open_} to translate")


def _texts(message: Message) -> tuple[str, ...]:
    told = message.string or ""
    return (told,) if isinstance(told, str) else tuple(told)


if __name__ == "__main__":
    main()
