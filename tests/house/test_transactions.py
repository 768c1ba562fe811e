"""Transactions read flat: a verb is decorated, and no function inside another takes a session."""

import ast
from pathlib import Path

import pytest

ORDERS = Path(__file__).parents[2] / "portal" / "orders"
# the decorators themselves
MAKERS = {"unit.py", "idempotency.py"}


def nested(source: str) -> list[str]:
    """Return the functions that stand in another one and take a session."""
    return [
        inner.name
        for outer in ast.walk(ast.parse(source))
        if isinstance(outer, ast.FunctionDef)
        for inner in ast.walk(outer)
        if isinstance(inner, ast.FunctionDef)
        and inner is not outer
        and any(one.arg == "session" for one in inner.args.args)
    ]


def test_no_function_of_orders_hides_a_transaction() -> None:
    found = {
        str(path.relative_to(ORDERS)): names
        for path in sorted(ORDERS.rglob("*.py"))
        if path.name not in MAKERS and (names := nested(path.read_text(encoding="utf-8")))
    }
    assert found == {}


@pytest.mark.parametrize(
    ("source", "names"),
    [
        ("def verb(unit):\n    def work(session):\n        pass\n    unit.write(work)", ["work"]),
        ("@transactional\ndef verb(unit, session):\n    pass", []),
        ("def verb(unit):\n    def told(part):\n        pass", []),
    ],
)
def test_a_planted_one_is_found(source, names) -> None:
    assert nested(source) == names
