"""The table of ASVS requirements is whole, and what it names exists."""

import re
from collections import Counter

from tests.house.files import HOUSE

ROWS = re.compile(r"^\| (V[\d.]+) \| ([12]) \| [^|]+ \| ([^|]+) \| (.+) \|$", re.M)
TEXT = (HOUSE / "tests" / "house" / "ASVS.md").read_text("utf-8")
# the levels of each section's requirements in turn: OWASP ASVS 5.0.0 (github.com/OWASP/ASVS,
# 5.0/docs_en, the table as CSV); 3 is beyond what is asked for here
LEVELS = """
1.1 22 1.2 1111122223 1.3 112222222223 1.4 222 1.5 123 2.1 122 2.2 112 2.3 12223 2.4 23 3.1 3
3.2 113 3.3 12223 3.4 11222233 3.5 11122333 3.6 3 3.7 22333 4.1 12233 4.2 23333 4.3 22 4.4 1222
5.1 2 5.2 112333 5.3 113 5.4 222 6.1 122 6.2 111111112222 6.3 11223333 6.4 112233 6.5 22222333
6.6 2223 6.7 33 6.8 2222 7.1 222 7.2 1111 7.3 22 7.4 11222 7.5 223 7.6 22 8.1 1233 8.2 1123 8.3
133 8.4 23 9.1 111 9.2 1222 10.1 22 10.2 223 10.3 22223 10.4 1111122222233333 10.5 22222 10.6 22
10.7 222 11.1 2233 11.2 22233 11.3 11233 11.4 1222 11.5 23 11.6 23 11.7 33 12.1 12233 12.2 11
12.3 22223 13.1 2333 13.2 222223 13.3 2233 13.4 1222233 14.1 22 14.2 12223333 14.3 122 15.1
12233 15.2 12233 15.3 1222222 15.4 3333 16.1 2 16.2 22222 16.3 2222 16.4 222 16.5 2223 17.1 23
17.2 22223333 17.3 22
"""
SCRIPTS = HOUSE / "static" / "js"


def wanted() -> dict[str, str]:
    """Each requirement of levels 1 and 2, with its level."""
    words = LEVELS.split()
    sections = zip(words[::2], words[1::2], strict=True)
    return {
        f"V{section}.{number}": level
        for section, levels in sections
        for number, level in enumerate(levels, 1)
        if level != "3"
    }


def test_every_requirement_of_levels_1_and_2_has_its_line() -> None:
    # as many as the standard says it has: 70 of level 1, 183 of level 2
    assert Counter(wanted().values()) == {"1": 70, "2": 183}
    found = [(number, level) for number, level, _state, _why in ROWS.findall(TEXT)]
    assert found == list(wanted().items())


def test_what_holds_a_requirement_exists() -> None:
    for number, _level, state, why in ROWS.findall(TEXT):
        named = re.findall(r"`([\w./-]+)`", why)
        if state == "held":
            assert named_tests(why), number
            assert missing_of(why) == [], number
        elif state == "written down":
            assert named, number
            assert [one for one in named if not (HOUSE / one).exists()] == [], number
        else:
            assert state in {"does not apply", "not met"}, number
            assert len(why) > 5, number


def named_tests(text: str) -> list[tuple[str, str]]:
    """The file and the name of each test that a line names."""
    return re.findall(r"`(tests/[\w/]+\.py)::(test_\w+)`", text)


def missing_of(text: str) -> list[str]:
    """The tests that a line names and that no file has."""
    return [
        f"{file}::{name}"
        for file, name in named_tests(text)
        if not (HOUSE / file).exists()
        or not re.search(rf"^def {name}\(", (HOUSE / file).read_text("utf-8"), re.M)
    ]


def test_a_test_that_is_gone_is_noticed() -> None:
    here = "`tests/house/test_asvs.py::"
    assert missing_of(f"{here}test_a_test_that_is_gone_is_noticed`") == []
    assert missing_of(f"{here}test_gone`") == ["tests/house/test_asvs.py::test_gone"]


def portal_lines(pattern: str, *, left_out: str = "/migrations/") -> list[str]:
    """The lines of the portal's own Python that a pattern finds."""
    found = re.compile(pattern)
    return [
        f"{one.name}: {line.strip()}"
        for one in (HOUSE / "portal").rglob("*.py")
        if left_out not in str(one)
        for line in one.read_text("utf-8").splitlines()
        if found.search(line)
    ]


# "wal" or "delete", a word of the house's own
OWN_WORD = 'engine.py: connection.execute(f"PRAGMA journal_mode={journal}")'


def test_no_statement_and_no_template_is_made_of_text() -> None:
    assert portal_lines(r"(\btext|exec_driver_sql|\.execute)\(\s*(rf?|fr?)?f[\"']") == [OWN_WORD]
    assert portal_lines(r"(\btext|exec_driver_sql)\(.*([\"'] %|\.format\()") == []
    assert portal_lines(r"render_template_string|(?<!Vapid02)\.from_string\(") == []
    assert portal_lines(r"exec_driver_sql\("), "the search itself finds something"


def test_nothing_is_unpickled_or_evaluated() -> None:
    assert portal_lines(r"\b(pickle|marshal|shelve)\b|\byaml\.|\beval\(|\bexec\(") == []
    assert portal_lines("allow_pickle=False"), "the search itself finds something"


def test_chance_comes_from_the_system() -> None:
    # a demo's links may be guessed; `serve` draws from the system (portal/web/app.py)
    assert portal_lines(r"^(from|import) random\b") == ["demo.py: from random import Random"]
    assert portal_lines(r"random_bytes or secrets\.token_bytes")


def test_scripts_copy_no_keys_of_others_into_objects() -> None:
    assert scripts_with(r"__proto__|Object\.assign\(|\.prototype\b") == []


def scripts_with(word: str) -> list[str]:
    return [one.name for one in SCRIPTS.glob("*.js") if re.search(word, one.read_text("utf-8"))]


def test_scripts_put_no_text_in_as_html_and_hear_no_other_window() -> None:
    writes = r"(inner|outer)HTML\s*\+?=[^=]|insertAdjacentHTML|document\.write"
    assert scripts_with(writes) == []
    assert scripts_with(r"postMessage|onmessage|addEventListener\(.message") == []
    assert scripts_with(r"eval\(|new Function") == []
    assert scripts_with("localStorage") == ["offline_scans.js"], "the search itself finds something"


def test_nothing_keeps_a_password_from_being_pasted() -> None:
    assert scripts_with(r"[\"']paste[\"']") == []
    for page in (HOUSE / "templates").rglob("*.html"):
        assert "onpaste" not in page.read_text("utf-8"), page


def test_no_hash_is_an_old_one() -> None:
    weak = re.compile(r"hashlib\.(md5|sha1)|\.new\(\"(md5|sha1)\"")
    found = [one for one in (HOUSE / "portal").rglob("*.py") if weak.search(one.read_text("utf-8"))]
    assert found == []
