"""Templates parse, say no markup unsafe, carry no inline style or script, and exist when named."""

import re

from jinja2 import Environment, StrictUndefined, meta

from tests.house.files import HOUSE, files, name

TEMPLATES = files("templates/**/*.html", "templates/**/*.txt")
PAGES = [p for p in TEMPLATES if p.suffix == ".html" and not p.name.startswith("_")]
LONGEST = 140
BESIDE_A_SENTENCE = 60  # the characters that may stand on the line of a sentence that is too long
SENTENCE = re.compile(r'_\("((?:[^"\\]|\\.)*)"')
COMPARED_ROLE = re.compile(r"\brole(?:\.value)?\s*(?:==|!=|in\b)")
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


def too_long(line: str) -> bool:
    """A sentence is translated as a whole: where it alone is long, its line may be long too."""
    sentence = max(SENTENCE.findall(line), key=len, default="")
    return len(line) > LONGEST and len(line) - len(sentence) > BESIDE_A_SENTENCE


def test_the_check_for_long_lines_can_fail() -> None:
    assert too_long("x" * (LONGEST + 1))
    assert too_long(f'<p>{"x" * 50}{{{{ _("{"y" * LONGEST}") }}}}</p>')
    assert not too_long("x" * LONGEST)
    assert not too_long(f'<p>{{{{ _("{"y" * LONGEST}") }}}}</p>')


def test_no_line_of_a_template_is_too_long() -> None:
    faults = [
        f"{name(path)}:{number}"
        for path in TEMPLATES
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1)
        if too_long(line)
    ]
    assert not faults


def test_every_template_parses_and_names_only_templates_that_exist() -> None:
    jinja = environment()
    assert TEMPLATES
    for path in TEMPLATES:
        tree = jinja.parse(path.read_text(encoding="utf-8"), filename=name(path))
        for wanted in meta.find_referenced_templates(tree):
            known = wanted is None or (HOUSE / "templates" / wanted).is_file()
            assert known, f"{name(path)}: {wanted}"


def test_no_template_calls_markup_safe_or_styles_inline() -> None:
    faults = []
    for path in TEMPLATES:
        text = path.read_text(encoding="utf-8")
        if re.search(r"\|\s*safe\b", text):
            faults.append(f"{name(path)}: safe")
        # a letter has no stylesheet to link to
        if "letters" not in path.parts and INLINE.search(text):
            faults.append(f"{name(path)}: inline")
    assert not faults


def test_what_a_person_may_do_is_asked_of_the_view() -> None:
    texts = {name(path): path.read_text(encoding="utf-8") for path in TEMPLATES}
    assert not [path for path, text in texts.items() if COMPARED_ROLE.search(text)]


def test_the_check_for_compared_roles_can_fail() -> None:
    assert COMPARED_ROLE.search('{% if person.role == "office" %}')
    assert not COMPARED_ROLE.search("{% if person.in_office %}{{ person.role|label }}{% endif %}")


def test_every_template_that_a_page_renders_exists() -> None:
    named = set()
    for path in files("portal/web/**/*.py"):
        named |= set(re.findall(r'"([a-z_]+/[a-z_/]+\.(?:html|txt))"', path.read_text("utf-8")))
    missing = [n for n in sorted(named) if not (HOUSE / "templates" / n).is_file()]
    assert not missing
