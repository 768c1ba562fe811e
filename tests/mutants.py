"""Mutants: small faults planted in `craft`, `shop` and the guards of the staff pages, as a sample.

`make mutants N=100 SEED=1` plants N faults with mutmut, each seen by the tests of its own floor
alone, and a tenth as many in the guards (who may do what), seen by `test_permissions`. A fault in a
sentence is refused by the catalogues, as every such change is: that is looked up before anything
runs. What the tests let pass is looked at by the types. It prints the share that was caught, by
what, and each fault that was not. What is known to change nothing stands with its reason in
`mutants.toml` beside this file. It works in a copy under `build/`, which keeps the mutants of what
did not change, and serves several samples (`SEED="1 2"`) in as many processes as WORKERS says.
"""

import ast
import difflib
import functools
import itertools
import json
import os
import random
import re
import subprocess
import sys
import textwrap
import tomllib
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from tests.house import catalogues, python_sentences

HOUSE = Path(__file__).resolve().parents[1]
COPY = HOUSE / "build" / "mutants"
# where mutmut puts the copy's sources with all mutants in them
MADE = COPY / "mutants"
KNOWN = Path(__file__).with_name("mutants.toml")
COPIED = ("portal", "tests", "demo_seed", "templates", "static", "pyproject.toml")
LEFT_OUT = {"node_modules", "__pycache__", "browser", "bench"}
FLOORS = ("craft", "shop")
WORKERS = os.environ.get("WORKERS") or str(os.cpu_count() or 1)
WANTED = 0.95
# mutmut's own run does this and then learns in its own way what the tests reach
PLANT = f"""
from mutmut.__main__ import copy_also_copy_files, copy_src_dir, create_mutants
copy_src_dir()
copy_also_copy_files()
create_mutants({WORKERS})
"""
# simulations of a whole shop: a minute each, and what they test has tests of its own
SLOW = ("tests/shop/test_simulated_shop.py",)
DAEMON = ("-m", "mypy.dmypy", "--status-file", "types.json")
TYPES = (*DAEMON, "run", "--", "portal")
# mypy and Python trust their cache of a file whose size and second are the same: each write has a
# second of its own
SECONDS = itertools.count(1)
ROLES = ("FLOOR", "COUNTER", "OFFICE")
GUARD = re.compile(r"@require_role\(Role\.(\w+)\)")


@dataclass(frozen=True)
class Mutant:
    """A planted fault: where it is, the line as it became, and what caught it ("" for nothing)."""

    where: str
    line: str
    caught: str

    @property
    def known(self) -> str:
        """The reason why it changes nothing, if that is known."""
        rows = tomllib.loads(KNOWN.read_text("utf-8")).get("survivor", [])
        found = (one["reason"] for one in rows if (one["where"], one["line"]) == self.key)
        return next(found, "")

    @property
    def key(self) -> tuple[str, str]:
        return (self.where, self.line)


def main(count: int, seeds: list[int]) -> int:
    """Plant, print and count; 1 when too few were caught, or one that isn't listed was not."""
    _refresh()
    _plant()
    samples = {seed: _drawn(count, seed) for seed in seeds}
    every = {name for names in samples.values() for name in names}
    found = {name: "catalogues" for name in every if _is_unsaid(name)}
    found |= _tried(every - found.keys())
    refused = _refused_by_types(sorted(name for name in every if not found[name]))
    found |= dict.fromkeys(refused, "types")
    failed = [_told(seed, names, found, max(1, count // 10)) for seed, names in samples.items()]
    _call(*DAEMON, "stop")
    return int(any(failed))


def _plant() -> None:
    """Make the mutants of every file that is new."""
    done = _call("-c", PLANT)
    if done.returncode:
        sys.exit(f"mutmut could not plant:\n{done.stderr[-3000:]}")


def _tried(names: set[str]) -> dict[str, str]:
    """Return what stopped each mutant in the tests, "" for nothing."""
    file = COPY / "trials.json"
    file.write_text(json.dumps(sorted(names)), "utf-8")
    floors = [f"tests/{floor}" for floor in FLOORS]
    left_out = [f"--ignore={path}" for path in SLOW]
    done = _call("-m", "tests.trials", str(file), *floors, *left_out, folder=MADE)
    if done.returncode:
        sys.exit(f"the tests don't pass by themselves:\n{done.stdout[-3000:]}{done.stderr[-3000:]}")
    found: dict[str, str] = json.loads(file.read_text("utf-8"))
    return found


def _drawn(count: int, seed: int) -> list[str]:
    names = _names()
    return random.Random(seed).sample(names, min(count, len(names)))


def _told(seed: int, names: list[str], found: Mapping[str, str], guards: int) -> bool:
    """Print what became of one sample; return whether it shows that a test is missing."""
    mutants = [_result(name, found[name]) for name in names]
    mutants += _guards(random.Random(seed), guards)
    missed = [one for one in mutants if not one.caught]
    for one in missed:
        print(f"not caught: {one.where}\n    {one.line}\n    {one.known or 'NOT LISTED'}")
    share = 1 - len(missed) / len(mutants)
    by = Counter(one.caught for one in mutants if one.caught)
    ways = ", ".join(f"{many} by {way}" for way, many in by.most_common())
    print(
        f"{len(mutants)} mutants (seed {seed}): {share:.1%} caught ({ways}), {len(missed)} not",
        flush=True,
    )
    return share < WANTED or any(not one.known for one in missed)


def _refresh() -> None:
    """Bring the copy up to date. What is as it was keeps its mutants: to make all takes minutes."""
    wanted = {path for name in COPIED for path in _files(HOUSE, name)}
    for path in {path for name in COPIED for path in _files(COPY, name)} - wanted:
        for stale in (COPY / path, MADE / path, MADE / f"{path}.meta"):
            stale.unlink(missing_ok=True)
    for path in wanted:
        copy, text = COPY / path, (HOUSE / path).read_bytes()
        if not copy.exists() or copy.read_bytes() != text:
            copy.parent.mkdir(parents=True, exist_ok=True)
            copy.write_bytes(text)
            (MADE / path).unlink(missing_ok=True)
    _set_up()


def _files(top: Path, name: str) -> list[Path]:
    """Return the files of this name or below it, as paths from the top."""
    paths = [path.relative_to(top) for path in (top / name, *(top / name).rglob("*"))]
    return [one for one in paths if not LEFT_OUT & set(one.parts) and (top / one).is_file()]


def _set_up() -> None:
    """Tell mutmut what to mutate, in the copy's own project file."""
    settings = {
        "source_paths": ["portal"],
        "only_mutate": [f"portal/{floor}/*" for floor in FLOORS],
        "also_copy": [name for name in COPIED if name not in ("portal", "tests")],
        "track_dependencies": False,
        "use_git_change_detection": False,
    }
    text = (HOUSE / "pyproject.toml").read_text("utf-8")
    lines = [f"{key} = {json.dumps(value)}" for key, value in settings.items()]
    (COPY / "pyproject.toml").write_text("\n".join([text, "[tool.mutmut]", *lines, ""]), "utf-8")


def _call(*words: str, folder: Path = COPY) -> subprocess.CompletedProcess[str]:
    """Run Python in the copy; what reads the standard input finds it empty."""
    call = [sys.executable, *words]
    return subprocess.run(
        call, cwd=folder, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False
    )


def _write(path: Path, text: str) -> None:
    path.write_text(text, "utf-8")
    second = next(SECONDS)
    os.utime(path, (second, second))


def _names() -> list[str]:
    """Return the names of all mutants."""
    metas = [json.loads(path.read_text("utf-8")) for path in MADE.rglob("*.meta")]
    return sorted(name for meta in metas for name in meta["exit_code_by_key"])


def _result(name: str, caught: str) -> Mutant:
    return Mutant(re.sub(r"__mutmut_\d+$", "", name), "" if caught else _line_of(name), caught)


def _refused_by_types(names: Iterable[str]) -> set[str]:
    """Return the faults that mypy refuses.

    They stand in the copy's sources together, at most one in a function: an error is of the fault
    within whose lines it is.
    """
    rounds: list[dict[str, str]] = []
    for name in names:
        own = name.rpartition("__mutmut_")[0]
        free = next((one for one in rounds if own not in one), None)
        if free is None:
            rounds.append(free := {})
        free[own] = name
    return {name for one in rounds for name in _refused_together([*one.values()])}


def _refused_together(names: list[str]) -> set[str]:
    by_file: dict[str, list[str]] = {}
    for name in names:
        by_file.setdefault(_file_of(name), []).append(name)
    texts = {file: (COPY / file).read_text("utf-8") for file in by_file}
    usual = _usual_type_errors()
    for file, own in by_file.items():
        _write(COPY / file, functools.reduce(_with_fault, own, texts[file]))
    errors = [one for one in _type_errors() if one[::2] not in {each[::2] for each in usual}]
    refused = set()
    for name in names:
        file = _file_of(name)
        first, last = _lines_of((COPY / file).read_text("utf-8"), name)
        if any(path == file and first <= line <= last for path, line, _ in errors):
            refused.add(name)
    for file, text in texts.items():
        _write(COPY / file, text)
    return refused


def _with_fault(text: str, name: str) -> str:
    """Return a source with a mutant in the place of its function."""
    first, last = _lines_of(text, name)
    lines = text.splitlines(keepends=True)
    mutant = name.rpartition(".")[2]
    planted = _source_of(_file_of(name), mutant).replace(mutant, _path_to(name)[-1], 1)
    return "".join([*lines[: first - 1], planted.rstrip() + "\n", *lines[last:]])


def _lines_of(text: str, name: str) -> tuple[int, int]:
    """Return the first and the last line of a mutant's function in a source."""
    body: Any = ast.parse(text)
    for step in _path_to(name):
        body = next(one for one in body.body if getattr(one, "name", "") == step)
    return body.lineno, body.end_lineno


def _path_to(name: str) -> list[str]:
    """Return the names of a mutant's class, if it has one, and of its function."""
    mangled = name.rpartition(".")[2].rpartition("__mutmut_")[0]
    return mangled.removeprefix("x_").split("ǁ")[1 if "ǁ" in mangled else 0 :]


def _type_errors() -> set[tuple[str, int, str]]:
    """Return what mypy says of the copy now: file, line, and what is wrong."""
    found = re.findall(r"^(\S+?):(\d+): error: (.*)$", _call(*TYPES).stdout, re.MULTILINE)
    return {(file, int(line), says) for file, line, says in found}


@cache
def _usual_type_errors() -> set[tuple[str, int, str]]:
    """Return what mypy says of the copy without a fault: nothing, if the checks were run."""
    return _type_errors()


def _file_of(name: str) -> str:
    return name.rpartition(".")[0].replace(".", "/") + ".py"


def _is_unsaid(name: str) -> bool:
    """Whether the test of the catalogues refuses a mutant, as `tests/house/test_messages.py` does.

    It says what no catalogue has, or one of their sentences is said nowhere any more.
    """
    file, function = _file_of(name), name.rpartition(".")[2]
    was = _said_by(file, re.sub(r"[0-9]+$", "orig", function))
    now = _said_by(file, function)
    gone = was.keys() - (_said_in(file) - was + now).keys()
    known = _known_sentences()
    return any(one not in known for one in now) or any(known[one] == {file} for one in gone)


@cache
def _said_in(file: str) -> Counter[str]:
    """Return what a file says."""
    return _said((COPY / file).read_text("utf-8"))


@cache
def _said_by(file: str, function: str) -> Counter[str]:
    """Return what a mutant says; of a file with thousands of them only its own lines are parsed."""
    return _said(textwrap.dedent(_source_of(file, function)))


def _source_of(file: str, function: str) -> str:
    """Return the source of a mutant."""
    found = re.search(
        rf"^( *)(?:async )?def {re.escape(function)}\(.*\n(?:(?:\1[ )].*)?\n)*",
        (MADE / file).read_text("utf-8"),
        re.MULTILINE,
    )
    assert found, f"{function} is not in {file}"
    return found[0]


def _said(source: str) -> Counter[str]:
    calls = (node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Call))
    return Counter(str(one[2]) for call in calls for one in python_sentences.said(call))


@cache
def _known_sentences() -> dict[str, set[str]]:
    """Return the sentences of the catalogues, each with the files that say it."""
    template = catalogues.kept(catalogues.TEMPLATE)
    return {str(one.id): {file for file, _ in one.locations} for one in template if one.id}


def _line_of(name: str) -> str:
    """Return the first line that a mutant changed, as it became."""
    text = (COPY / _file_of(name)).read_text("utf-8")
    old, new = text.splitlines(), _with_fault(text, name).splitlines()
    changed = (line[1:].strip() for line in difflib.unified_diff(old, new, n=0) if line[0] == "+")
    return next((line for line in changed if line and line != "++"), "")


def _guards(chance: random.Random, count: int) -> list[Mutant]:
    """Give some staff pages to another role, one after another."""
    places = [
        (path, match.start(1), match[1])
        for path in sorted((COPY / "portal" / "web").rglob("*.py"))
        for match in GUARD.finditer(path.read_text("utf-8"))
    ]
    out = []
    for path, start, role in chance.sample(places, count):
        other = chance.choice([one for one in ROLES if one != role])
        text = path.read_text("utf-8")
        _write(path, text[:start] + other + text[start + len(role) :])
        done = _call("-m", "pytest", "-q", "-x", "tests/web/test_permissions.py")
        _write(path, text)
        where = f"{path.relative_to(COPY)}:{text[:start].count(chr(10)) + 1}"
        caught = "tests" if done.returncode == 1 else ""
        out.append(Mutant(where, f"@require_role(Role.{other})", caught))
    return out


if __name__ == "__main__":
    given_count, given_seeds = sys.argv[1:3]
    sys.exit(main(int(given_count or 100), [int(word) for word in (given_seeds or "1").split()]))
