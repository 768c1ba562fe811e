"""Whatever is said can be said in every language that is shipped."""

import ast
import re
from collections.abc import Callable
from pathlib import Path

import pytest
import sqlalchemy as sa
from babel.messages.catalog import Catalog, Message
from jinja2 import Environment

from portal.craft.messages import CraftError
from portal.craft.messages import Message as Said
from portal.craft.place import places
from portal.craft.sources import subjects
from portal.store.tables import Base
from portal.store.types import MessageText
from tests.house import catalogues, python_sentences
from tests.readers import english

PORTAL = Path(__file__).resolve().parents[2] / "portal"
LANGUAGES = catalogues.shipped()
OURS = ("de", "es")


@pytest.fixture(scope="module")
def drawn() -> Catalog:
    return catalogues.fresh()


def said(source: str) -> list[object]:
    """What a Python text says, drawn as from a file of ours."""
    found: list[object] = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call):
            found += [one[2] for one in python_sentences.said(node)]
        elif isinstance(node, ast.ClassDef):
            found += [one[2] for one in python_sentences.titles(node)]
    return found


def test_a_sentence_is_drawn_wherever_it_is_said() -> None:
    assert said('Message("It is {n} mm.", n=3)') == ["It is {n} mm."]
    assert said('forms._l("One " "text")') == ["One text"]
    assert said('_("a" if late else "b")') == ["a", "b"]
    assert said('ngettext("%(num)s part", "%(num)s parts", n)') == [
        ("%(num)s part", "%(num)s parts")
    ]
    assert said('Message(row["says"])') == []
    assert said('class Word(Titled):\n    """Says."""\n    A = "a", "Aye"\n    B = "b"') == [
        "Aye",
        "b",
    ]


def test_a_glued_sentence_is_refused() -> None:
    with pytest.raises(ValueError, match="glued"):
        said('Message(f"It is {n} mm.")')


@pytest.mark.parametrize(
    "sentence",
    [
        "Don't know",  # a title of the trade's words
        "A fine, even, matt surface.",  # a table
        "Enter your name.",  # a form
        "Your order is booked.",  # a letter
        ("%(n)s photo", "%(n)s photos"),  # a template, one and many
        "Bring nothing sealed or under pressure: no gas",
    ],
)
def test_the_template_holds_sentences_of_every_kind(
    drawn: Catalog, sentence: str | tuple[str, str]
) -> None:
    whole = {part for one in catalogues.sentences(drawn) for part in ([one] if one else [])}
    if isinstance(sentence, str) and sentence not in whole:
        assert any(isinstance(one, str) and sentence in one for one in whole)
    else:
        assert sentence in whole


@pytest.mark.parametrize("first", ["Job", ("Job", "Jobs")])
def test_no_sentence_is_said_with_a_plural_and_also_without_one(first: str) -> None:
    catalogue, second = Catalog(), "Job" if isinstance(first, tuple) else ("Job", "Jobs")
    catalogue.add(first)
    catalogues._refuse_both_ways(catalogue, first, None)
    catalogues._refuse_both_ways(catalogue, second, "a meaning of its own")
    with pytest.raises(ValueError, match="said with a plural and also without"):
        catalogues._refuse_both_ways(catalogue, second, None)


def test_the_template_on_disk_is_what_the_sources_say_now(drawn: Catalog) -> None:
    kept = catalogues.sentences(catalogues.kept(catalogues.TEMPLATE))
    now = catalogues.sentences(drawn)
    assert not now - kept, "new sentences: run `make messages`, then translate them"
    assert not kept - now, "nobody says these any more: run `make messages`"


def test_english_german_and_spanish_are_shipped() -> None:
    assert set(OURS) <= set(LANGUAGES)


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_language_says_every_sentence_with_its_own_placeholders(
    drawn: Catalog, language: str
) -> None:
    wrong = list(catalogues.faults(catalogues.kept(catalogues.path_of(language)), drawn))
    assert not wrong, f"{len(wrong)}:\n" + "\n".join(wrong[:40])


@pytest.mark.parametrize(
    ("asked", "told", "wrong"),
    [
        ("Good morning", "", "not translated"),
        (("%(n)s day", "%(n)s days"), ("%(n)s Tag", ""), "not translated"),
        ("About {mm} mm", "Etwa {mn} mm", "other placeholders"),
        ("Until %(day)s", "Bis", "other placeholders"),
        ("%(n)s %% full", "%(n)s voll", "other placeholders"),
        ("Continue", "<b>Weiter</b>", "markup"),
        (" (tag {tag})", "(Marke {tag})", "space"),
    ],
)
def test_the_check_of_a_language_can_fail(asked: str, told: str, wrong: str) -> None:
    assert any(fault.startswith(wrong) for fault in catalogues.wrong_with(Message(asked, told)))


def test_a_sound_sentence_and_a_doubtful_one_are_told_apart() -> None:
    assert not list(catalogues.wrong_with(Message("About {mm} mm", "Etwa {mm} mm")))
    assert "doubtful" in list(catalogues.wrong_with(Message("Yes", "Ja", flags=["fuzzy"])))


def test_a_forgotten_sentence_is_named() -> None:
    asked, kept = Catalog(), Catalog(locale="de")
    asked.add("A new sentence.")
    asked.add("Back", context="of parts")
    kept.add("Back", "Zurück", context="of parts")
    kept.add("An old one.", "Ein alter.")
    assert list(catalogues.faults(kept, asked)) == [
        "not in the catalogue: A new sentence.",
        "nobody says this any more: An old one.",
    ]


def glued(source: str) -> list[str]:
    """Return what is put into a message as English text, where the value itself can travel."""
    return [
        f"{call.lineno}: {ast.unparse(value)}"
        for call in ast.walk(ast.parse(source))
        if isinstance(call, ast.Call) and ast.unparse(call.func).rpartition(".")[2] == "Message"
        for value in (keyword.value for keyword in call.keywords)
        if _is_title(value) or (isinstance(value, ast.JoinedStr) and _is_words(value))
    ]


def _is_title(value: ast.expr) -> bool:
    """A title of the trade's words: `stage.title`, also as a message of its own."""
    if isinstance(value, ast.Call):
        return any(map(_is_title, value.args))
    return isinstance(value, ast.Attribute) and value.attr == "title"


def _is_words(text: ast.JoinedStr) -> bool:
    """Whether words stand between what an f-string fills in."""
    fixed = [part.value for part in text.values if isinstance(part, ast.Constant)]
    return any(re.search(r"[A-Za-z]{2,}", str(part)) for part in fixed)


def unfilled(source: str) -> list[str]:
    """Return the messages that lack a value that their template asks for."""
    return [
        f"{call.lineno}: {template.value}"
        for call in ast.walk(ast.parse(source))
        if isinstance(call, ast.Call) and ast.unparse(call.func).rpartition(".")[2] == "Message"
        for template in call.args[:1]
        if isinstance(template, ast.Constant) and isinstance(template.value, str) and call.keywords
        if not any(keyword.arg is None for keyword in call.keywords)
        if set(catalogues.BRACES.findall(template.value)) - {one.arg for one in call.keywords}
    ]


def faults_of(check: Callable[[str], list[str]]) -> list[str]:
    return [
        f"{path}:{fault}"
        for path in sorted(PORTAL.rglob("*.py"))
        for fault in check(path.read_text(encoding="utf-8"))
    ]


def test_a_value_travels_to_its_reader_as_it_is() -> None:
    assert glued('Message("at {stage}", stage=part.stage.title)')
    assert glued('Message("at {stage}", stage=Message(part.stage.title))')
    assert glued('Message("{size}", size=f"{n} inches")')
    assert not glued('Message("at {stage}", stage=part.stage, code=f"{code}-{n}")')
    assert not faults_of(glued), "\n".join(faults_of(glued))


def test_a_message_has_the_values_that_its_template_asks_for() -> None:
    assert unfilled('Message("{n} mm", m=3)')
    assert not unfilled('Message("{n} mm", n=3)')
    assert not faults_of(unfilled), "\n".join(faults_of(unfilled))


MESSAGE = Said("{count} wheels", count=4)


@pytest.mark.parametrize(
    "glue",
    [
        lambda: str(MESSAGE),
        lambda: f"There are {MESSAGE}.",
        lambda: " ".join([MESSAGE]),  # type: ignore[list-item]  # that is what is refused
        lambda: "There are " + MESSAGE,  # type: ignore[operator]  # as above
        lambda: Environment(autoescape=True).from_string("{{ it }}").render(it=MESSAGE),
    ],
)
def test_a_message_makes_no_text_of_itself(glue: Callable[[], str]) -> None:
    with pytest.raises(TypeError):
        glue()


def test_a_refusal_can_be_logged_whatever_it_says() -> None:
    assert "4" in str(CraftError(MESSAGE))
    with pytest.raises(AttributeError):
        MESSAGE.msgid = "other"


def test_finished_text_is_never_taken_apart() -> None:
    """No regular expression where words are made; what says a measure says it as a value."""
    folders = (PORTAL / "render", PORTAL / "web" / "kit" / "i18n")
    assert [f.name for folder in folders for f in folder.glob("*.py")]
    found = [
        path
        for folder in folders
        for path in folder.glob("*.py")
        if re.search(r"^\s*(import re|from re import)\b", path.read_text("utf-8"), flags=re.M)
    ]
    assert not found


MEASURED = re.compile(r"\}\s?(mm|µm|°C|kg|m²)(?!\w)|\d\s?(µm|°C|m²)(?!\w)")
# as it is cast into a rim or a tyre, or stands on a gauge; limits of a field in the office
CAST = re.compile(r"\{(mm|first|size|width|n|typed)\}")


SOURCES = {english(row.source) for place in places() for one in subjects(place) for row in one.rows}


def test_a_measure_is_a_value_and_no_part_of_a_sentence(drawn: Catalog) -> None:
    assert MEASURED.search("The part weighs about {mass} kg.")
    assert MEASURED.search("at about 180 °C")
    found = [
        text
        for one in drawn
        if isinstance(one.id, str) and any("craft/" in place for place, _ in one.locations)
        for text in [one.id]
        if MEASURED.search(text) and not CAST.search(text)
        if not any("sources.toml" in place for place, _ in one.locations)
        if text not in SOURCES
    ]
    assert not found, "\n".join(found)


def test_what_the_house_says_is_kept_as_a_message() -> None:
    """A column for words of ours keeps messages; text in one is what somebody typed."""
    named = {"says", "summary", "label", "flag", "why"}
    text = {
        f"{table.name}.{column.name}"
        for table in Base.metadata.tables.values()
        for column in table.columns
        if column.name in named and not isinstance(column.type, MessageText | sa.Enum)
    }
    assert text == {"hardware_bag.label"}  # B1, B2
