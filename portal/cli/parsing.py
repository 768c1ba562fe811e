"""Arguments of the command line, with help and errors in the language of the reader."""

import argparse
import gettext
import os
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any

from portal.craft.messages import Message
from portal.render import catalogues
from portal.render.reader import Reader
from portal.render.text import render
from portal.settings import read_language

# what argparse itself says; it looks its sentences up by `gettext`
OF_ARGPARSE = (
    Message("usage: "),
    Message("positional arguments"),
    Message("options"),
    Message("show this help message and exit"),
    Message("%(prog)s: error: %(message)s\n"),
    Message("argument %(argument_name)s: %(message)s"),
    Message("the following arguments are required: %s"),
    Message("unrecognized arguments: %s"),
    Message("invalid choice: %(value)r (choose from %(choices)s)"),
    Message("invalid %(type)s value: %(value)r"),
    Message("expected one argument"),
    Message("expected at least one argument"),
    Message("expected at most one argument"),
    Message("ambiguous option: %(option)s could match %(matches)s"),
    Message("ignored explicit argument %r"),
)


class Parser(argparse.ArgumentParser):
    """A parser whose helps are messages."""

    def __init__(self, reader: Reader | None = None, **values: Any) -> None:
        """Describe a command to `reader`."""
        self.reader = reader or Reader()
        super().__init__(**self._in_words(values, "description"))

    def add_argument(self, *names: Any, **values: Any) -> argparse.Action:
        """Add an argument; `help` is a message."""
        return super().add_argument(*names, **self._in_words(values, "help"))

    def _in_words(self, values: Mapping[str, Any], name: str) -> dict[str, Any]:
        said = values.get(name)
        return {**values, name: render(said, self.reader)} if said else dict(values)


def language_of(words: Sequence[str]) -> str:
    """Return the language for help and errors: `--lang`'s, else the environment's, else English."""
    asked = argparse.ArgumentParser(add_help=False, exit_on_error=False, allow_abbrev=False)
    asked.add_argument("--lang", "--language", nargs="?")
    chosen = asked.parse_known_args(words)[0].lang
    known = catalogues.languages(catalogues.FOLDER)
    return next((one for one in (chosen, read_language()) if one in known), "en")


@contextmanager
def speaking(language: str) -> Iterator[Reader]:
    """Let argparse speak a language."""
    gettext.bindtextdomain("messages", str(catalogues.FOLDER))
    before = os.environ.get("LANGUAGE")
    os.environ["LANGUAGE"] = language
    try:
        yield Reader(language)
    finally:
        if before is None:
            del os.environ["LANGUAGE"]
        else:
            os.environ["LANGUAGE"] = before
