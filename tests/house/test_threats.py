"""The sketch of threats names tests that exist."""

import re

from tests.house.files import HOUSE


def test_each_threat_has_a_test_that_exists() -> None:
    text = (HOUSE / "tests" / "house" / "THREATS.md").read_text("utf-8")
    rows = [line for line in text.splitlines() if line.startswith("| ")][2:]
    assert len(rows) > 10
    for row in rows:
        named = re.findall(r"`(tests/[\w/]+\.py)`", row)
        assert named, row
        assert [one for one in named if not (HOUSE / one).exists()] == []
