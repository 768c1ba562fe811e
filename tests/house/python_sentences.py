"""The sentences of a Python file: what is said or marked, and the titles of the trade's words."""

import ast
from collections.abc import Collection, Iterator, Mapping
from typing import Any, BinaryIO

from babel.messages.extract import extract_python

Found = tuple[int, str | None, Any, list[str]]


def extract(
    fileobj: BinaryIO,
    keywords: Mapping[str, Any],
    comment_tags: Collection[str],
    options: Mapping[str, Any],
) -> Iterator[Found]:
    """Yield what Babel finds by keyword, then the titles of every enum that is `Titled`."""
    yield from extract_python(fileobj, keywords, comment_tags, options)
    fileobj.seek(0)
    yield from titles(fileobj.read().decode("utf-8"))


def titles(source: str) -> Iterator[Found]:
    """Yield the title of each member: the second text of its pair, or its only one."""
    for owner in ast.walk(ast.parse(source)):
        if not isinstance(owner, ast.ClassDef) or "Titled" not in map(ast.unparse, owner.bases):
            continue
        for line in owner.body:
            if isinstance(line, ast.Assign):
                value = ast.literal_eval(line.value)
                yield (line.lineno, None, value[-1] if isinstance(value, tuple) else value, [])
