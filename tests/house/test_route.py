"""Stages are told apart by the route's table; elsewhere one is named only for its own meaning."""

import re

import pytest

from portal.shop.route import STATIONS
from tests.house.files import files, name

WORDS = "|".join(STATIONS)
# the ends of the route are no stations: anybody may ask whether a part has come or is done
NAMED = re.compile(rf"PartStage\.({'|'.join(stage.name for stage in STATIONS)})\b")
QUOTED = {
    ".py": NAMED,
    ".html": re.compile(r"stage(\.value)? *(==|!=|in|not in) *[(\[\"']"),
    ".js": re.compile(rf"\b({WORDS})\||\|({WORDS})\b|[\"'`]({WORDS})[\"'`]"),
}
# the table, and what the trade's answers say of the work at the stations they speak of
OWN = {"portal/shop/route.py", "portal/shop/scheduling/stations.py"}
SOURCES = [
    path
    for path in files("portal/**/*.py", "templates/**/*.html", "static/js/*.js")
    if name(path) not in OWN
]


def told_apart(suffix: str, text: str) -> list[str]:
    return [found[0] for found in QUOTED[suffix].finditer(text)]


@pytest.mark.parametrize(
    ("suffix", "planted"),
    [
        (".py", "if part.stage is PartStage.CURE:"),
        (".html", '{% if one.stage == "inspect" %}'),
        (".html", '{% if one.stage in ("prep", "blast") %}'),
        (".js", "const LABEL = /^at.(prep|strip|blast)$/i;"),
        (".js", 'place === "inspect"'),
    ],
)
def test_a_stage_that_is_told_apart_is_found(suffix: str, planted: str) -> None:
    assert told_apart(suffix, planted)


def test_stages_are_asked_and_not_compared() -> None:
    found = {name(path): told_apart(path.suffix, path.read_text("utf-8")) for path in SOURCES}
    assert {path: lines for path, lines in found.items() if lines} == {}, "ask the stage"
