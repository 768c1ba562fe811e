"""The command line: `python -m portal VERB`. A verb's module is loaded only when it is called.

`appraise` must answer in half a second, so nothing of the web or the database may be imported
on its way.
"""

import argparse
import sys
from importlib import import_module

from portal.cli.parsing import Parser, language_of, speaking
from portal.craft.messages import Message
from portal.render.catalogues import languages
from portal.render.reader import Reader
from portal.render.text import render
from portal.settings import BadSetting, read_language

VERBS: dict[str, tuple[str, Message]] = {
    "serve": ("portal.cli.running", Message("serve the portal on your own data")),
    "demo": (
        "portal.cli.running",
        Message("serve the portal with demo data, made relative to today"),
    ),
    "deliver": ("portal.cli.mail_worker", Message("send the letters that wait in the outbox")),
    "migrate": ("portal.cli.keeping", Message("bring the database to the newest form")),
    "shop": ("portal.cli.keeping", Message("read a shop file and its powders into the database")),
    "person": ("portal.cli.keeping", Message("add a member of staff, or set a new password")),
    "forecast": ("portal.cli.keeping", Message("forecast every open job anew")),
    "sweep": (
        "portal.cli.keeping",
        Message("erase what is past its time; mark drop-offs not brought"),
    ),
    "backup": (
        "portal.cli.copies",
        Message("copy the embedded database, safely while it is in use"),
    ),
    "restore": (
        "portal.cli.copies",
        Message("put a backup in the place of the embedded database"),
    ),
    "move": (
        "portal.cli.moving",
        Message("copy the embedded database to an empty PostgreSQL one"),
    ),
    "erase": ("portal.cli.keeping", Message("erase everything that tells who a customer is")),
    "export": ("portal.cli.person_copy", Message("write down all that is kept of one customer")),
    "appraise": ("portal.cli.appraising", Message("appraise an order file, without a server")),
}


def parser(reader: Reader) -> Parser:
    """Build the parser: one sub-command a verb; its module adds the arguments when it is called."""
    top = Parser(
        reader, prog="python -m portal", description=Message("The portal of a small coating works.")
    )
    verbs = top.add_subparsers(
        dest="verb", metavar=render(Message("COMMAND"), reader), required=True
    )
    for verb, (_, says) in VERBS.items():
        verbs.add_parser(verb, help=render(says, reader), add_help=False)
    return top


def main(argv: list[str] | None = None) -> int:
    """Run one verb; return its exit code (2 for what the caller must correct)."""
    words = sys.argv[1:] if argv is None else argv
    with speaking(language_of(words)) as reader:
        chosen, rest = parser(reader).parse_known_args(words[:1])[0], words[1:]
        module_name, says = VERBS[chosen.verb]
        module = import_module(module_name)
        own = Parser(reader, prog=f"python -m portal {chosen.verb}", description=says)
        module.arguments(chosen.verb, own)
        if chosen.verb != "appraise":
            helps = Message("language of the answer; else the environment's, else the shop's")
            own.add_argument("--lang", choices=list(languages()), help=helps)
        args = own.parse_args(rest)
    try:
        return int(module.run(chosen.verb, args))
    except BadSetting as wrong:
        return _fail(args, 2, *wrong.sentences)
    except Exception as problem:
        if (sentence := _of_database(problem)) is None:
            raise
        return _fail(args, 1, sentence)


def _fail(args: argparse.Namespace, code: int, *sentences: Message) -> int:
    reader = Reader(getattr(args, "lang", None) or read_language())
    for sentence in sentences:
        print(render(sentence, reader), file=sys.stderr)
    return code


def _of_database(problem: Exception) -> Message | None:
    """Return what to say where the database does not answer; None for any other error."""
    from portal.orders.kernel.unit import unavailable_because  # noqa: PLC0415  # it is loaded by now

    if why := unavailable_because(problem):
        return Message("The database does not answer, or can't save ({why}).", why=why)
    return None
