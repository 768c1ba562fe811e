"""Whatever is said can be said in every language that is shipped."""

import ast
from pathlib import Path

import pytest
from babel.messages.catalog import Catalog, Message

from tests.house import catalogues, python_sentences

PORTAL = Path(__file__).resolve().parents[2] / "portal"
DRAWN = catalogues.fresh()
LANGUAGES = catalogues.shipped()
OURS = ("de", "es")


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
def test_the_template_holds_sentences_of_every_kind(sentence: str | tuple[str, str]) -> None:
    whole = {part for one in catalogues.sentences(DRAWN) for part in ([one] if one else [])}
    if isinstance(sentence, str) and sentence not in whole:
        assert any(isinstance(one, str) and sentence in one for one in whole)
    else:
        assert sentence in whole


def test_the_template_on_disk_is_what_the_sources_say_now() -> None:
    kept, drawn = (
        catalogues.sentences(catalogues.kept(catalogues.TEMPLATE)),
        catalogues.sentences(DRAWN),
    )
    assert not drawn - kept, "new sentences: run `make messages`, then translate them"
    assert not kept - drawn, "nobody says these any more: run `make messages`"


def test_english_german_and_spanish_are_shipped() -> None:
    assert set(OURS) <= set(LANGUAGES)


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_language_says_every_sentence_with_its_own_placeholders(language: str) -> None:
    wrong = list(catalogues.faults(catalogues.kept(catalogues.path_of(language)), DRAWN))
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


def glued_titles(source: str) -> list[str]:
    """Return the titles that a sentence is given as plain English text: `at=part.stage.title`."""
    return [
        f"{call.lineno}: {ast.unparse(value)}"
        for call in ast.walk(ast.parse(source))
        if isinstance(call, ast.Call) and ast.unparse(call.func).rpartition(".")[2] == "Message"
        for value in (keyword.value for keyword in call.keywords)
        if isinstance(value, ast.Attribute) and value.attr == "title"
    ]


def test_a_word_within_a_sentence_is_told_in_the_readers_language() -> None:
    assert glued_titles('Message("at {stage}", stage=part.stage.title)')
    assert not glued_titles('Message("at {stage}", stage=Message(part.stage.title))')
    found = [
        f"{path}:{fault}"
        for path in sorted(PORTAL.rglob("*.py"))
        for fault in glued_titles(path.read_text(encoding="utf-8"))
    ]
    assert not found, "\n".join(found)
