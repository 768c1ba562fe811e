"""Mutants are really called: what is remembered of earlier calls, or ran at import, hides none."""

import json
import os
import subprocess
import sys
from pathlib import Path

from tests.mutants import HOUSE, PLANT

SOURCE = """
from functools import cache

def step():
    return 2

STEP = step()

def plus(number):
    return number + 1

@cache
def once(number):
    return plus(number)

def unseen(number):
    return number * 3
"""
CHECKS = """
from portal.sums import STEP, once, unseen

def test_it_is_reckoned_once():
    assert once(1) == 2

def test_what_is_reckoned_at_import():
    assert STEP == 2

def test_nothing_of_much():
    assert unseen(0) == 0
"""
PROJECT = """
[tool.mutmut]
source_paths = ["portal"]
also_copy = ["checks", "pyproject.toml"]
"""


def run(folder: Path, *words: str) -> None:
    env = {**os.environ, "PYTHONPATH": str(HOUSE)}
    subprocess.run([sys.executable, *words], cwd=folder, env=env, check=True, capture_output=True)


def test_each_mutant_is_stopped_by_what_sees_it_and_by_nothing_else(tmp_path: Path) -> None:
    for name, text in (
        ("portal/__init__.py", ""),
        ("portal/sums.py", SOURCE),
        ("checks/test_sums.py", CHECKS),
        ("pyproject.toml", PROJECT),
    ):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(text, "utf-8")
    run(tmp_path, "-c", PLANT)
    made, file = tmp_path / "mutants", tmp_path / "trials.json"
    names = [*json.loads((made / "portal/sums.py.meta").read_text("utf-8"))["exit_code_by_key"]]
    file.write_text(json.dumps(names), "utf-8")
    run(made, "-m", "tests.trials", str(file), "checks")
    found = {
        name.removeprefix("portal.sums.x_").partition("__")[0]: way
        for name, way in json.loads(file.read_text("utf-8")).items()
    }
    assert found == {"step": "tests", "plus": "tests", "unseen": ""}
