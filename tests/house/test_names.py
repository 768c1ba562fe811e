"""A name has one meaning: no two classes share theirs, and some words are no names at all."""

import ast
import importlib
import pkgutil
from collections import defaultdict
from collections.abc import Iterable
from pathlib import Path

import portal
from portal.craft.titled import Titled
from tests.house.files import HOUSE

# as names of functions they had up to ten meanings
VAGUE = frozenset({"told", "seen", "kept", "_told", "_seen", "_page"})


def sources() -> dict[str, str]:
    found = (HOUSE / "portal").rglob("*.py")
    return {
        str(p.relative_to(HOUSE)): p.read_text("utf-8") for p in found if "versions" not in p.parts
    }


def defined(files: dict[str, str]) -> dict[str, list[str]]:
    """The files in which each class and function of a module stands, by its name."""
    found = defaultdict(list)
    for path, text in files.items():
        for node in ast.parse(text).body:
            if isinstance(node, ast.ClassDef | ast.FunctionDef):
                found[node.name].append(path)
    return found


def shared(files: dict[str, str]) -> dict[str, list[str]]:
    """Names of classes that stand in more than one file; what begins with _ is its file's own."""
    return {
        name: paths
        for name, paths in defined(files).items()
        if name[0].isupper() and len(paths) > 1
    }


def words_of(kinds: Iterable[type]) -> list[str]:
    return sorted(kind.__name__ for kind in kinds)


def below(kind: type) -> list[type]:
    return [one for sub in kind.__subclasses__() for one in (sub, *below(sub))]


def test_no_two_classes_have_one_name() -> None:
    assert shared(sources()) == {}
    assert shared({"a.py": "class Mark: ...", "b.py": "class Mark: ...\nclass _Row: ..."}) == {
        "Mark": ["a.py", "b.py"]
    }


def test_no_function_is_called_by_a_word_that_says_nothing() -> None:
    assert {name: paths for name, paths in defined(sources()).items() if name in VAGUE} == {}
    assert VAGUE & defined({"a.py": "def told(): ..."}).keys()


def test_a_word_in_a_stored_message_is_found_again_by_its_class() -> None:
    """Stored messages name the class of a word of the trade, so no two may be called alike."""
    for module in pkgutil.walk_packages([str(Path(portal.__file__).parent)], "portal."):
        if "migrations" not in module.name and not module.name.endswith("__main__"):
            importlib.import_module(module.name)
    own = [kind for kind in below(Titled) if kind.__module__.startswith("portal.")]
    names = words_of(own)
    assert len(names) > 20
    assert len(names) == len(set(names))
