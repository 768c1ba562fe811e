"""The checks of scripts and styles find what is wrong; here each is shown to be able to fail."""

import shutil
import subprocess
from pathlib import Path

import pytest

from tests.house.files import HOUSE

TOOLS = HOUSE / "tests" / "node_modules" / ".bin"
GOOD = "export const places = 3;\n"
WRONG_TYPE = "/** @type {number} */\nexport const places = 'three';\n"
UNUSED = "export function add(one, other) {\n  return one;\n}\n"


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    (tmp_path / "tests").mkdir()
    (tmp_path / "static" / "js").mkdir(parents=True)
    for name in ("jsconfig.json", "biome.json"):
        shutil.copy(HOUSE / "tests" / name, tmp_path / "tests" / name)
    return tmp_path


def run(folder: Path, script: str, *command: str) -> subprocess.CompletedProcess[str]:
    (folder / "static" / "js" / "planted.js").write_text(script, encoding="utf-8")
    told = [str(TOOLS / command[0]), *command[1:]]
    return subprocess.run(told, cwd=folder, capture_output=True, text=True, check=False)


def types(folder: Path, script: str) -> subprocess.CompletedProcess[str]:
    return run(folder, script, "tsc", "-p", "tests/jsconfig.json")


def lint(folder: Path, script: str) -> subprocess.CompletedProcess[str]:
    own = "--config-path=tests/biome.json"
    return run(folder, script, "biome", "lint", "--error-on-warnings", own, "static/js")


def test_a_wrong_type_is_found(copy: Path) -> None:
    assert types(copy, GOOD).returncode == 0
    assert "planted.js" in types(copy, WRONG_TYPE).stdout


def test_what_is_unused_is_found(copy: Path) -> None:
    assert lint(copy, GOOD).returncode == 0
    assert lint(copy, UNUSED).returncode != 0
