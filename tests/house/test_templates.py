"""Templates parse, say no markup unsafe, carry no inline style or script, and exist when named."""

import re

import pytest
from jinja2 import Environment, StrictUndefined, meta

from tests.house.files import HOUSE, files, name

TEMPLATES = files("templates/**/*.html", "templates/**/*.txt")
PAGES = [p for p in TEMPLATES if p.suffix == ".html" and not p.name.startswith("_")]
INLINE = re.compile(r"<script(?![^>]*\bsrc=)|\sstyle\s*=\s*[\"']|\son[a-z]+\s*=\s*[\"']", re.I)


def environment() -> Environment:
    return Environment(
        undefined=StrictUndefined,
        extensions=["jinja2.ext.i18n", "jinja2.ext.do"],
        autoescape=True,
    )


def test_the_check_for_inline_code_can_fail() -> None:
    for bad in ('<p style="x">', "<script>1</script>", "<a onclick='x()'>"):
        assert INLINE.search(bad)
    assert not INLINE.search('<script type="module" src="/a.js"></script><p class="x">')


@pytest.mark.parametrize("path", TEMPLATES, ids=name)
def test_every_template_parses_and_names_only_templates_that_exist(path) -> None:
    tree = environment().parse(path.read_text(encoding="utf-8"))
    for wanted in meta.find_referenced_templates(tree):
        assert wanted is None or (HOUSE / "templates" / wanted).is_file(), wanted


@pytest.mark.parametrize("path", TEMPLATES, ids=name)
def test_no_template_calls_markup_safe_or_styles_inline(path) -> None:
    text = path.read_text(encoding="utf-8")
    assert not re.search(r"\|\s*safe\b", text)
    if "letters" not in path.parts:  # a letter has no stylesheet to link to
        assert not INLINE.search(text)


def test_every_template_that_a_page_renders_exists() -> None:
    named = set()
    for path in files("portal/web/**/*.py"):
        named |= set(re.findall(r'"([a-z_]+/[a-z_/]+\.(?:html|txt))"', path.read_text("utf-8")))
    missing = [n for n in sorted(named) if not (HOUSE / "templates" / n).is_file()]
    assert not missing
