"""A browser test waits for the page that its action leads to, before it looks at anything."""

import ast
import textwrap
from collections.abc import Iterator
from pathlib import Path

import pytest

BROWSER = Path(__file__).resolve().parents[1] / "browser"
FILES = sorted(p for p in BROWSER.rglob("*.py") if p.name != "turns.py")
# what the line after an action may be: each waits for something that only the new page has
WAITS = {"expect", "says", "hears", "wait_for_url", "let_go"}
# the point of a few tests is what happens before the page has turned
AT_ONCE = "# at once"


def _call(node: ast.stmt) -> ast.Call | None:
    return node.value if isinstance(node, ast.Expr) and isinstance(node.value, ast.Call) else None


def _name(call: ast.Call) -> str:
    function = call.func
    return function.attr if isinstance(function, ast.Attribute) else getattr(function, "id", "")


def _acts(node: ast.stmt) -> bool:
    """Whether this line clicks something that may turn the page, or presses Enter."""
    call = _call(node)
    if call is None or not isinstance(call.func, ast.Attribute):
        return False
    if call.func.attr == "click":
        target = call.func.value
        return not (isinstance(target, ast.Call) and _name(target) == "get_by_label")
    return call.func.attr == "press" and "'Enter'" in ast.dump(call)


def _waits(node: ast.stmt | None) -> bool:
    if isinstance(node, ast.For):
        return _waits(node.body[0])
    call = _call(node) if node else None
    while call is not None:
        if _name(call) in WAITS:
            return True
        inner = call.func.value if isinstance(call.func, ast.Attribute) else None
        call = inner if isinstance(inner, ast.Call) else None
    return False


def _faults(body: list[ast.stmt], after: ast.stmt | None, lines: list[str]) -> Iterator[int]:
    for node, following in zip(body, [*body[1:], after], strict=False):
        acts_alone = _acts(node) and not _waits(following)
        if acts_alone and AT_ONCE not in lines[node.lineno - 1]:
            yield node.lineno
        # what stands under `with` is waited for by what the `with` names
        if not isinstance(node, ast.With):
            for inner in ("body", "orelse"):
                last = None if isinstance(node, ast.FunctionDef | ast.ClassDef) else following
                yield from _faults(getattr(node, inner, []), last, lines)


def faults(source: str) -> list[int]:
    """Return the lines that act on a page and are not followed by a wait."""
    return list(_faults(ast.parse(source).body, None, source.splitlines()))


# helpers whose callers wait: what they press turns the page or does not
LEFT_TO_CALLERS = {
    ("staff.py", "scan"),
    ("test_page_turns.py", "type_before_it_hears"),
    ("test_camera.py", "look_with"),
    ("test_gauge.py", "at_once"),
}


def faults_of(path: Path) -> list[int]:
    """Return the lines of a file that act and look at once, but for what is left to callers."""
    source = path.read_text(encoding="utf-8")
    spans = [
        range(node.lineno, (node.end_lineno or node.lineno) + 1)
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.FunctionDef) and (path.name, node.name) in LEFT_TO_CALLERS
    ]
    return [line for line in faults(source) if not any(line in span for span in spans)]


def test_what_turns_a_page_is_followed_by_a_wait() -> None:
    found = {path.name: faults_of(path) for path in FILES}
    wrong = {name: lines for name, lines in found.items() if lines}
    assert FILES
    assert not wrong, f"lines that act and look at once; see turns.press: {wrong}"


@pytest.mark.parametrize(
    ("after", "wrong"),
    [
        ("assert page.url.endswith('/J')", True),
        ("page.evaluate('1')", True),
        ("page.wait_for_load_state()", True),
        ("expect(page.locator('h1')).to_be_visible()", False),
        ("page.wait_for_url('**/J')", False),
        ("for one in (1, 2):\n    says(page, 'Saved')", False),
    ],
)
def test_a_test_that_looks_at_the_old_page_is_found(after: str, wrong: bool) -> None:
    action = "page.get_by_role('button', name='Save').click()\n"
    assert bool(faults(action + after)) is wrong
    assert bool(faults("page.keyboard.press('Enter')\n" + after)) is wrong
    looped = "for page in pages:\n" + textwrap.indent(action, "    ") + after
    assert bool(faults(looped)) is wrong
