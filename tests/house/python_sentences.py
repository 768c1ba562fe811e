"""The sentences of a Python file: what is said or marked, and the titles of the trade's words."""

import ast
from collections.abc import Collection, Iterator, Mapping
from typing import Any, BinaryIO

Found = tuple[int, str | None, Any, list[str]]
ONE = frozenset({"_", "_l", "gettext", "lazy_gettext", "Message"})
TWO = frozenset({"ngettext", "lazy_ngettext", "Plural"})


def extract(
    fileobj: BinaryIO,
    _keywords: Collection[str],
    _comment_tags: Collection[str],
    options: Mapping[str, Any],  # Babel gives it by name
) -> Iterator[Found]:
    """Yield every sentence of a file, as an extraction method of Babel does."""
    for node in ast.walk(ast.parse(fileobj.read())):
        if isinstance(node, ast.Call):
            yield from said(node)
        elif isinstance(node, ast.ClassDef) and "Titled" in map(ast.unparse, node.bases):
            yield from titles(node)


def said(call: ast.Call) -> Iterator[Found]:
    """Yield what a call says or marks; a sentence that isn't known before it runs can't be."""
    name = ast.unparse(call.func).rpartition(".")[2]
    if name in ONE and call.args:
        for text in _texts(call.args[0]):
            yield (call.lineno, None, text, [])
    elif name in TWO:
        one, many = (next(_texts(argument), "") for argument in call.args[:2])
        if one:
            yield (call.lineno, "ngettext", (one, many), [])


def _texts(node: ast.expr) -> Iterator[str]:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.IfExp):
        yield from _texts(node.body)
        yield from _texts(node.orelse)
    elif isinstance(node, ast.JoinedStr):
        msg = f"a sentence glued from pieces can't be translated: {ast.unparse(node)}"
        raise ValueError(msg)


def titles(owner: ast.ClassDef) -> Iterator[Found]:
    """Yield the title of each member: the second text of its row, or its only one."""
    for line in owner.body:
        if isinstance(line, ast.Assign):
            row = line.value.elts[:2] if isinstance(line.value, ast.Tuple) else [line.value]
            yield (line.lineno, None, ast.literal_eval(row[-1]), [])
