"""Every page of the catalogue is valid HTML: by the conformance checker where Java is present.

Without Java the parser's own errors (html5lib, strict, in `check_page`) stand alone.
"""

import json
import shutil
import subprocess
from pathlib import Path

import pytest

from tests.browser.layout.judge import TOOLS
from tests.browser.layout.pages import Unreached, names
from tests.page import check_page

VNU = TOOLS / "vnu-jar" / "build" / "dist" / "vnu.jar"
JAVA = shutil.which("java")
# a run of seconds is not worth a second compilation
SHORT_LIVED = ("-XX:TieredStopAtLevel=1", "-XX:+UseSerialGC")
# SVG 2 gives every basic shape a pathLength (section 9.6.1); the checker knows SVG 1.1.
# Nothing else may be waved through.
LET_BE = ("Attribute “pathLength” not allowed on element “circle”",)


def faults_of(folder: Path) -> list[str]:
    """Run the checker once over a folder of pages."""
    assert JAVA
    checker = (JAVA, *SHORT_LIVED, "-Xss8m", "-jar", str(VNU))
    ran = subprocess.run(
        [*checker, "--format", "json", "--exit-zero-always", str(folder)],
        capture_output=True,
        text=True,
        check=True,
    )
    return [
        f"{Path(m['url']).name}:{m.get('lastLine')}: {m['message']} … {m.get('extract', '')[:120]}"
        for m in json.loads(ran.stderr)["messages"]
        if m["type"] == "error"  # advice on headings of sections is no matter of validity
        and not any(words in m["message"] for words in LET_BE)
    ]


def write(folder: Path, name: str, html: str) -> None:
    (folder / f"{name.replace(' ', '_')}.html").write_text(html, encoding="utf-8")


@pytest.mark.skipif(not JAVA, reason="no Java here: html5lib's strict parser stands alone")
def test_the_conformance_checker_finds_nothing(catalogue, tmp_path) -> None:
    for name, shown in catalogue.items():
        if not isinstance(shown, Unreached):
            write(tmp_path, name, shown.html)
    faults = faults_of(tmp_path)
    assert not faults, "\n".join(faults)


@pytest.mark.skipif(not JAVA, reason="no Java here: html5lib's strict parser stands alone")
def test_the_conformance_checker_finds_what_is_wrong(tmp_path) -> None:
    page = (
        "<!doctype html><html lang=en><title>x</title><button><a href=/>x</a></button><b role=no>"
    )
    write(tmp_path, "bad", page)
    assert len(faults_of(tmp_path)) >= 2


@pytest.mark.parametrize("name", names())
def test_the_page_is_well_formed_named_and_without_anything_inline(catalogue, name: str) -> None:
    shown = catalogue[name]
    assert not isinstance(shown, Unreached), shown.why
    check_page(shown.html)
