"""No word that a command prints comes from anywhere but the catalogue."""

import os
import shutil
from pathlib import Path

import pytest

from portal.cli import VERBS, main
from portal.cli.demo import PASSWORD, where_to_look
from portal.cli.opening import reader_of
from portal.craft.quantities import UnitSystem
from portal.render.appraisal_text import text_of
from portal.render.reader import reader_for
from portal.settings import read_settings
from portal.shop.appraisal import appraise_file
from portal.shop.roles import Role
from tests.conftest import SEED
from tests.web.invented import WORD, outside, words_of


@pytest.mark.usefixtures("invented")
@pytest.mark.parametrize("order", sorted((SEED / "orders").glob("*.toml")), ids=lambda o: o.stem)
def test_every_word_of_the_command_line_comes_from_the_catalogue(
    order, shop_text: str, powders_text: str
) -> None:
    found = appraise_file(order.read_text("utf-8"), shop_text, powders_text)
    known = words_of(shop_text, powders_text)
    typed = " ".join(
        f"{one.key} {one.note} {one.what} {one.rim_text}" for one in found.order.declared.sets
    )
    text = text_of(found, reader_for(found.shop, "de"))
    assert not outside(text, known | set(WORD.findall(typed)))


@pytest.fixture
def house(tmp_path: Path, sqlite_model: Path, monkeypatch) -> Path:
    """A folder with a shop's database, and an environment that says so."""
    shutil.copy(sqlite_model, tmp_path / "portal.sqlite3")
    for name in ("DATABASE_URL", "PORTAL_DEMO", "LC_ALL", "LC_MESSAGES"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("PORTAL_DATA", str(tmp_path))
    monkeypatch.setenv("LANG", "en_GB.UTF-8")
    answers = iter(["a long password", "another password"])
    monkeypatch.setattr("getpass.getpass", lambda asks: print(asks) or next(answers))
    return tmp_path


@pytest.mark.usefixtures("invented")
@pytest.mark.parametrize(
    ("code", "command"),
    [
        (0, "migrate"),
        (0, "shop {seed}/shop.toml {seed}/powders.csv --yes"),
        (2, "shop none.toml none.csv"),
        (2, "shop {here}/wrong.toml {seed}/powders.csv"),
        (2, "person wren"),
        (0, "forecast"),
        (0, "sweep"),
        (0, "backup {here}/copy"),
        (2, "restore {here}/wrong.toml"),
        (1, "erase NONE"),
        (1, "erase nobody@example.com"),
        (1, "export NONE {here}/copy.zip"),
        (2, "deliver"),
    ],
)
def test_every_word_of_a_commands_answer_comes_from_the_catalogue(
    house: Path, capsys, monkeypatch, shop_text: str, code: int, command: str
) -> None:
    (house / "wrong.toml").write_text(shop_text.replace('currency = "', 'currency = "X'), "utf-8")
    if command == "deliver":
        monkeypatch.setenv("PORTAL_SMTP", "gopher://x")
    arguments = command.format(here=house, seed=SEED).split()
    assert main([*arguments, "--lang", "de"]) == code
    said = "".join(capsys.readouterr())
    assert "⟦" in said
    known = {"smtp", "starttls", "smtps", "host", "console", "none", "toml", "shop", "csv"}
    typed = {word for one in (str(house), *arguments) for word in WORD.findall(one)}
    assert not outside(said, known | typed | {"powders", "currency", "XGBP"}), said


@pytest.mark.usefixtures("invented", "house")
@pytest.mark.parametrize(
    "command",
    [
        "--help",
        *(f"{verb} --help" for verb in VERBS),
        "fly",
        "person",
        "person a b",
        "serve --host",
    ],
)
def test_every_word_of_help_and_of_a_wrong_call_comes_from_the_catalogue(
    capsys, monkeypatch, command: str
) -> None:
    monkeypatch.setenv("LANG", "de_AT.UTF-8")
    with pytest.raises(SystemExit) as ended:
        main(command.split())
    assert ended.value.code == (0 if "--help" in command else 2)
    said = "".join(capsys.readouterr())
    assert "⟦" in said
    # names of commands and arguments, and what may be chosen, are the same in every language
    names = {
        "python",
        "portal",
        "help",
        "lang",
        "language",
        "shop",
        "powders",
        "file",
        "login",
        "force",
        "yes",
        "new",
        "secret",
    }
    names |= {
        "name",
        "role",
        "code",
        "json",
        "units",
        "watch",
        "server",
        "workers",
        "host",
        *UnitSystem,
        *Role,
    }
    known = {*names, *(name.upper() for name in names), *VERBS, "deliver", "de", "en", "fly"}
    assert not outside(said, known), said


@pytest.mark.usefixtures("invented", "house")
def test_help_is_in_the_language_of_the_option_too(capsys, monkeypatch) -> None:
    for more, start in (((), "usage: "), (("--lang", "de"), "⟦usage: ⟧")):
        with pytest.raises(SystemExit):
            main(["shop", *more, "--help"])
        assert capsys.readouterr().out.startswith(start)
    assert "LANGUAGE" not in os.environ


@pytest.mark.usefixtures("invented")
def test_every_word_of_where_to_look_comes_from_the_catalogue(house: Path) -> None:
    settings = read_settings()
    said = where_to_look(settings, reader_of(settings, "de"))
    typed = f"{settings.base_url} counter sign-in office letters None floor office {PASSWORD}"
    assert "⟦" in said
    assert not outside(said, set(WORD.findall(typed)))


@pytest.mark.usefixtures("invented")
def test_a_command_answers_as_asked_else_as_the_environment_else_as_the_shop(
    house: Path, capsys, monkeypatch
) -> None:
    def answer(*more: str) -> str:
        assert main(["migrate", *more]) == 0
        return capsys.readouterr().out.strip()

    english = "The database is up to date."
    monkeypatch.setenv("LANG", "de_AT.UTF-8")
    assert answer() == f"⟦{english}⟧"
    assert answer("--lang", "en") == english
    monkeypatch.setenv("LANG", "C.UTF-8")
    assert answer() == english  # as the shop
    shop = (SEED / "shop.toml").read_text("utf-8")
    assert 'locale = "en"' in shop
    (house / "own.toml").write_text(shop.replace('locale = "en"', 'locale = "de"', 1), "utf-8")
    assert main(["shop", str(house / "own.toml"), str(SEED / "powders.csv"), "--yes"]) == 0
    assert capsys.readouterr().out.startswith("⟦Read ")
    assert answer() == f"⟦{english}⟧"
