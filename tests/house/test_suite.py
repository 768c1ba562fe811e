"""What keeps a run short is kept to: one app a process, examples by profile, one test a rule."""

import re

import pytest

from tests import quick
from tests.house.files import HOUSE, files, name

# what costs a run its minutes, where it may stand, and what to do instead
COSTLY = {
    "an app": (
        re.compile(r"\bcreate_app\("),
        ("tests/conftest.py", "tests/customers/house.py", "tests/browser/layout/conftest.py"),
        "take the fixture `app`, or `an_app` where it is wired differently",
    ),
    "a number of examples": (
        re.compile(r"\bmax_examples\s*="),
        ("tests/deep.py",),
        "the profile counts them; `examples(n)` for a property that costs much",
    ),
    "a test for each file": (
        re.compile(r"parametrize\(\s*\"path\",\s*(?:files\(|[A-Z_]+, ids=name)"),
        (),
        "one test for the rule, which names every file that breaks it",
    ),
    "a sign-in by the form": (
        re.compile(r"\.post\(\s*\"/counter/sign-in\""),
        ("tests/browser/staff.py", "tests/web/test_kit_errors.py"),
        "`sign_in` of tests/cast.py makes the session's row",
    ),
}
NOT_IN_A_RUN = ("tests/bench/", "tests/browser/pictures.py", "tests/browser/lighthouse.py")
TESTS = [p for p in files("tests/**/*.py") if not name(p).startswith(NOT_IN_A_RUN)]


def found(what: str) -> list[str]:
    pattern, allowed, _ = COSTLY[what]
    own = (*allowed, "tests/house/test_suite.py")
    return [
        name(path)
        for path in TESTS
        if name(path) not in own and pattern.search(path.read_text(encoding="utf-8"))
    ]


@pytest.mark.parametrize("what", COSTLY)
def test_what_costs_minutes_stands_where_it_is_shared(what: str) -> None:
    assert not found(what), COSTLY[what][2]


@pytest.mark.parametrize(
    ("what", "text"),
    [
        ("an app", "app = create_app(settings)"),
        ("a number of examples", "@settings(max_examples=300)"),
        ("a test for each file", 'parametrize("path", SOURCES, ids=name)'),
        ("a test for each file", 'parametrize("path", files("*.py"))'),
        ("a sign-in by the form", 'client.post("/counter/sign-in", data=data)'),
    ],
)
def test_the_check_can_fail(what: str, text: str) -> None:
    assert COSTLY[what][0].search(text)


def test_what_may_make_its_own_still_does() -> None:
    for pattern, allowed, _ in COSTLY.values():
        for path in allowed:
            assert pattern.search((HOUSE / path).read_text(encoding="utf-8")), path


def test_every_app_of_a_run_takes_the_templates_that_are_compiled() -> None:
    """Compiling them costs seconds; the first app of a process does it for the others."""
    _, makers, _ = COSTLY["an app"]
    assert [one for one in makers if "COMPILED" not in (HOUSE / one).read_text("utf-8")] == []


def test_a_quick_run_whose_list_is_wrong_is_refused(
    request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(quick, "LEFT", {"no_such_test": "nothing"})
    here = request.node
    assert quick.wrong([here], []) == ["no_such_test leaves nothing out"]
    assert quick.wrong([], [here])[-1] == f"nothing stays of {here.path}"
