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
import itertools
import json
import os
import random
import re
import subprocess
import sys
import tomllib
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

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
    found = _tried({name for names in samples.values() for name in names if not _is_unsaid(name)})
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
    chance = random.Random(seed)
    mutants = [*(_result(name, found.get(name)) for name in names), *_guards(chance, guards)]
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


def _mutmut(*words: str, check: bool = True) -> str:
    done = _call("-m", "mutmut", *words)
    if check and done.returncode:
        sys.exit(f"mutmut could not run:\n{done.stdout[-3000:]}{done.stderr[-3000:]}")
    return done.stdout + done.stderr


def _names() -> list[str]:
    """Return the names of all mutants."""
    metas = [json.loads(path.read_text("utf-8")) for path in MADE.rglob("*.meta")]
    return sorted(name for meta in metas for name in meta["exit_code_by_key"])


def _result(name: str, stopped: str | None) -> Mutant:
    """Return a mutant with what caught it; `stopped` is None where nothing had to be run."""
    caught = "catalogues" if stopped is None else stopped or _refused_by_types(name)
    line = "" if caught else _line_of(name)
    return Mutant(re.sub(r"__mutmut_\d+$", "", name), line, caught)


def _refused_by_types(name: str) -> str:
    """Return "types" where mypy refuses a fault, which stands in the copy's source meanwhile."""
    path = COPY / _file_of(name)
    text = path.read_text("utf-8")
    _mutmut("apply", name)
    planted = path.read_text("utf-8")
    assert planted != text
    _write(path, planted)
    refused = _call(*TYPES).returncode == 1
    _write(path, text)
    return "types" if refused else ""


def _file_of(name: str) -> str:
    return name.rpartition(".")[0].replace(".", "/") + ".py"


def _is_unsaid(name: str) -> bool:
    """Whether the test of the catalogues refuses a mutant, as `tests/house/test_messages.py` does.

    It says what no catalogue has, or one of their sentences is said nowhere any more.
    """
    file, function = _file_of(name), name.rpartition(".")[2]
    whole, said = _said_in(file)
    was, now = said[re.sub(r"[0-9]+$", "orig", function)], said[function]
    gone = was.keys() - (whole - was + now).keys()
    known = _known_sentences()
    return any(one not in known for one in now) or any(known[one] == {file} for one in gone)


@cache
def _said_in(file: str) -> tuple[Counter[str], dict[str, Counter[str]]]:
    """Return what a file says, and what each of its mutants does."""
    functions = {
        node.name: _said(node)
        for node in ast.walk(ast.parse((MADE / file).read_text("utf-8")))
        if isinstance(node, ast.FunctionDef) and "__mutmut_" in node.name
    }
    return _said(ast.parse((COPY / file).read_text("utf-8"))), functions


def _said(source: ast.AST) -> Counter[str]:
    calls = (node for node in ast.walk(source) if isinstance(node, ast.Call))
    return Counter(str(one[2]) for call in calls for one in python_sentences.said(call))


@cache
def _known_sentences() -> dict[str, set[str]]:
    """Return the sentences of the catalogues, each with the files that say it."""
    template = catalogues.kept(catalogues.TEMPLATE)
    return {str(one.id): {file for file, _ in one.locations} for one in template if one.id}


def _line_of(name: str) -> str:
    """Return the line that a mutant changed, as it became."""
    lines = _mutmut("show", name).splitlines()
    return next((one[1:].strip() for one in lines if re.match(r"\+(?!\+\+)", one)), "")


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
