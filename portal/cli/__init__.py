"""The command line: `python -m portal VERB`. A verb's module is loaded only when it is called.

`appraise` must answer in half a second, so nothing of the web or the database may be imported
on its way.
"""

import argparse
import sys
from importlib import import_module

from portal.render.catalogues import languages
from portal.render.reader import Reader
from portal.render.text import render
from portal.settings import BadSetting, read_language

VERBS: dict[str, tuple[str, str]] = {
    "serve": ("portal.cli.running", "serve the portal on your own data"),
    "demo": ("portal.cli.running", "serve the portal with demo data, made relative to today"),
    "deliver": ("portal.cli.running", "send the letters that wait in the outbox"),
    "migrate": ("portal.cli.keeping", "bring the database to the newest form"),
    "shop": ("portal.cli.keeping", "read a shop file and its powders into the database"),
    "person": ("portal.cli.keeping", "add a member of staff, or set a new password"),
    "forecast": ("portal.cli.keeping", "forecast every open job anew"),
    "sweep": ("portal.cli.keeping", "erase what is past its time; mark drop-offs not brought"),
    "backup": ("portal.cli.keeping", "copy the embedded database, safely while it is in use"),
    "restore": ("portal.cli.keeping", "put a backup in the place of the embedded database"),
    "erase": ("portal.cli.keeping", "erase one customer's name, address and photos"),
    "appraise": ("portal.cli.appraising", "appraise an order file, without a server"),
}


def parser() -> argparse.ArgumentParser:
    """Build the parser: one sub-command a verb; its module adds the arguments when it is called."""
    top = argparse.ArgumentParser(
        prog="python -m portal", description="The portal of a small coating works."
    )
    verbs = top.add_subparsers(dest="verb", metavar="VERB", required=True)
    for verb, (_, says) in VERBS.items():
        verbs.add_parser(verb, help=says, add_help=False)
    return top


def main(argv: list[str] | None = None) -> int:
    """Run one verb; return its exit code (2 for what the caller must correct)."""
    words = sys.argv[1:] if argv is None else argv
    chosen, rest = parser().parse_known_args(words[:1])[0], words[1:]
    module_name, says = VERBS[chosen.verb]
    module = import_module(module_name)
    own = argparse.ArgumentParser(prog=f"python -m portal {chosen.verb}", description=says)
    module.arguments(chosen.verb, own)
    if chosen.verb != "appraise":
        own.add_argument("--lang", choices=list(languages()), help="of the answer; else LANG's")
    args = own.parse_args(rest)
    try:
        return int(module.run(chosen.verb, args))
    except BadSetting as wrong:
        language = getattr(args, "lang", None) or read_language()
        print(render(wrong.sentence, Reader(language)), file=sys.stderr)
        return 2
