"""The look by numbers: contrast of every pair of colours that meets, in both themes."""

import re
from pathlib import Path

import pytest

CSS = Path(__file__).resolve().parents[2] / "static" / "css"
TEXT = 4.5  # WCAG 2.2, 1.4.3
PARTS = 3.0  # WCAG 2.2, 1.4.11
PAIRS = [
    ("ink", "paper", TEXT),
    ("ink", "buff", TEXT),
    ("ink", "lit", TEXT),
    ("ink", "bench", TEXT),
    ("ink", "steel", TEXT),
    ("faint", "paper", TEXT),
    ("faint", "buff", TEXT),
    ("faint", "lit", TEXT),
    ("faint", "bench", TEXT),
    ("ember", "paper", TEXT),
    ("ember", "buff", TEXT),
    ("ember", "lit", TEXT),
    ("on-ember", "ember", TEXT),
    ("paper", "ink", TEXT),
    ("header-ink", "header", TEXT),
    ("wrong", "paper", TEXT),
    ("wrong", "lit", TEXT),
    ("wrong", "buff", TEXT),
    ("go", "paper", TEXT),
    ("line", "paper", PARTS),
    ("line", "lit", PARTS),
    ("line", "buff", PARTS),
    ("line", "bench", PARTS),
    ("ember", "bench", PARTS),
]


def themes() -> dict[str, dict[str, str]]:
    text = (CSS / "tokens.css").read_text(encoding="utf-8")
    light, dark = text.split("@media (prefers-color-scheme: dark)")
    found = re.compile(r"--([a-z-]+):\s*(#[0-9a-f]{6});")
    day = dict(found.findall(light))
    return {"light": day, "dark": day | dict(found.findall(dark))}


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_measure_itself_gives_the_published_values() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)
    assert contrast("#949494", "#ffffff") == pytest.approx(3.03, abs=0.01)


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize(("front", "back", "least"), PAIRS)
def test_what_meets_can_be_told_apart(theme, front, back, least) -> None:
    colours = themes()[theme]
    assert contrast(colours[front], colours[back]) >= least


def test_both_themes_name_only_raw_values_again() -> None:
    text = (CSS / "tokens.css").read_text(encoding="utf-8")
    dark = text.split("@media (prefers-color-scheme: dark)")[1]
    names = re.findall(r"--([a-z-]+):\s*([^;]+);", dark)
    assert all(value.startswith("#") for _, value in names)


def test_pieces_take_their_colours_from_the_tokens_alone() -> None:
    for path in (CSS / "base.css", *sorted((CSS / "pieces").glob("*.css"))):
        text = re.sub(r"/\*.*?\*/", "", path.read_text(encoding="utf-8"), flags=re.S)
        colours = set(re.findall(r"#[0-9a-f]{3,8}\b", text))
        assert colours <= {"#0000"}, path.name


def test_touch_targets_are_at_least_44_px() -> None:
    text = (CSS / "tokens.css").read_text(encoding="utf-8")
    touch = float(re.search(r"--touch:\s*([0-9.]+)rem", text)[1])
    assert touch * 16 >= 44
