"""Style sheets: colours stand in the files of tokens alone, and every rule stands in a layer."""

import re
from collections.abc import Callable
from pathlib import Path

from tests.house.files import files, name

SHEETS = files("static/css/**/*.css")
TOKENS = [path for path in SHEETS if path.name.endswith("tokens.css")]
COLOUR = re.compile(r":[^;{}]*?(#[0-9a-fA-F]{3,8}\b|\b(?:rgb|hsl|hwb|lab|lch|oklab|oklch)a?\()")


def without_comments(css: str) -> str:
    return re.sub(r"/\*.*?\*/", "", css, flags=re.S)


def colours(css: str) -> list[str]:
    """Every colour that a declaration writes out; `#face` in a selector is none."""
    blocks = re.findall(r"[\w-]+\s*:[^;{}]*(?=[;}])", without_comments(css))
    return [found[1] for block in blocks if (found := COLOUR.search(block))]


def outside_layers(css: str) -> list[str]:
    depth, outside = 0, []
    for statement in re.split(r"([{};])", without_comments(css)):
        if statement == "{":
            depth += 1
        elif statement == "}":
            depth -= 1
        elif depth == 0 and statement.strip(" \n;"):
            outside.append(statement.strip())
    allowed = ("@layer", "@charset", "@page", "@font-face", "@property")
    return [one for one in outside if not one.startswith(allowed)]


def test_a_planted_colour_is_found() -> None:
    assert colours("@layer a { b:hover { color: #fff } }") == ["#fff"]
    assert colours("b { border: 1px solid #1D1a16; }") == ["#1D1a16"]
    assert colours("b { background: rgb(0 0 0 / 0.6); }") == ["rgb("]
    assert not colours(".c #face:hover { color: var(--ink); background: transparent }")


def test_a_planted_rule_outside_a_layer_is_found() -> None:
    assert outside_layers("@layer a { b { x: 1 } } c { x: 1 }") == ["c"]
    assert not outside_layers("@layer a, b; @layer a { b { x: 1 } }")


def of_each(faults: Callable[[str], list[str]], paths: list[Path]) -> dict[str, list[str]]:
    """The faults of each sheet that has any."""
    found = {name(path): faults(path.read_text(encoding="utf-8")) for path in paths}
    return {path: wrong for path, wrong in found.items() if wrong}


def test_colours_stand_in_the_tokens_alone() -> None:
    assert not of_each(colours, [path for path in SHEETS if path not in TOKENS])


def test_there_are_tokens_of_screen_and_paper() -> None:
    assert len(TOKENS) >= 2
    assert all(colours(path.read_text(encoding="utf-8")) for path in TOKENS)


def test_no_rule_stands_outside_a_layer() -> None:
    assert SHEETS
    assert not of_each(outside_layers, SHEETS)
