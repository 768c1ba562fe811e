"""A file that grows past 350 lines has one more room in it."""

import re

import pytest

from tests.house.files import HOUSE, files, name

LONGEST = 350
LONGEST_SCRIPT = 150
SOURCES = files(
    "portal/**/*.py", "tests/**/*.py", "templates/**/*.*", "static/css/**/*.css", "static/js/*.js"
)


def too_long(text: str) -> bool:
    return text.count("\n") > LONGEST


def test_the_check_of_length_can_fail() -> None:
    assert too_long("\n" * (LONGEST + 1))
    assert not too_long("\n" * LONGEST)


def test_no_file_is_longer_than_350_lines() -> None:
    long = [name(path) for path in SOURCES if too_long(path.read_text(encoding="utf-8"))]
    assert SOURCES
    assert not long, f"find the room in {long}"


def test_no_script_is_longer_than_150_lines() -> None:
    scripts = {path: path.read_text(encoding="utf-8") for path in files("static/js/*.js")}
    long = [name(path) for path, text in scripts.items() if text.count("\n") > LONGEST_SCRIPT]
    assert scripts
    assert not long


def test_the_top_level_holds_what_was_agreed_and_nothing_else() -> None:
    agreed = {"README.md", "DEVELOPERS.md", "LICENSE", "Makefile", "pyproject.toml"}
    agreed |= {"requirements.lock.txt", "requirements-dev.lock.txt"}
    agreed |= {"portal", "templates", "static", "tests", "demo_seed"}
    made = {"build", "data"}  # made by the commands, ignored by git
    found = {p.name for p in HOUSE.iterdir() if not p.name.startswith(".")}
    assert found - made <= agreed


@pytest.mark.parametrize("lock", ["requirements.lock.txt", "requirements-dev.lock.txt"])
def test_every_locked_library_has_a_hash_and_no_address(lock: str) -> None:
    text = (HOUSE / lock).read_text(encoding="utf-8")
    pins = re.findall(
        r"^[a-z0-9][\w.\-\[\]]*==[^\s]+ (?:; .+ )?\\\n\s+--hash=sha256:[0-9a-f]{64}", text, re.M
    )
    assert len(pins) == len(re.findall(r"^[a-z0-9][\w.\-\[\]]*==", text, re.M)) > 20
    assert "://" not in text
    assert "--index" not in text
