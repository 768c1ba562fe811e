"""`appraise FILE.toml`: everything known about an order file."""

import argparse
import json
import sys
from pathlib import Path

from portal.cli.parsing import Parser
from portal.craft.messages import CraftError, Message
from portal.craft.quantities import UnitSystem
from portal.render.appraisal_data import data_of
from portal.render.appraisal_text import text_of
from portal.render.catalogues import languages
from portal.render.reader import Reader, reader_for
from portal.render.text import render
from portal.settings import HOUSE
from portal.shop.appraisal import appraise_file


def arguments(_verb: str, parser: Parser) -> None:
    parser.add_argument("file", type=Path, help=Message("the order, as TOML (see the README)"))
    parser.add_argument("--json", action="store_true", help=Message("print JSON"))
    seed = HOUSE / "demo_seed"
    parser.add_argument(
        "--shop", type=Path, default=seed / "shop.toml", help=Message("the shop file")
    )
    parser.add_argument(
        "--powders", type=Path, default=seed / "powders.csv", help=Message("its powders")
    )
    parser.add_argument(
        "--language",
        choices=list(languages()),
        default="en",
        help=Message("language of the answer"),
    )
    systems = [str(one) for one in UnitSystem]
    parser.add_argument(
        "--units", choices=systems, default=systems[0], help=Message("units of the measures")
    )


def run(_verb: str, args: argparse.Namespace) -> int:
    """Print the appraisal; 2 when a file can't be read or says something impossible."""
    units = UnitSystem(args.units)
    try:
        texts = [read_text(path) for path in (args.file, args.shop, args.powders)]
    except CraftError as wrong:
        return _refuse(wrong.sentence, args.language)
    try:
        appraised = appraise_file(*texts)
    except CraftError as wrong:
        sentence = Message("{file}: {why}", file=str(args.file), why=wrong.sentence)
        return _refuse(sentence, args.language)
    reader = reader_for(appraised.shop, args.language, units)
    if args.json:
        print(json.dumps(data_of(appraised, reader), ensure_ascii=False, indent=2))
    else:
        print(text_of(appraised, reader))
    return 0


def read_text(path: Path) -> str:
    """Return a file's text; raise CraftError saying in one line what is wrong with the file."""
    file = str(path)
    try:
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise CraftError(Message("There is no file {file}.", file=file)) from None
    except UnicodeDecodeError:
        raise CraftError(
            Message("{file} is not a text in UTF-8. Save it as UTF-8.", file=file)
        ) from None
    except OSError:
        raise CraftError(Message("We can't read {file}.", file=file)) from None


def _refuse(sentence: Message, language: str) -> int:
    print(render(sentence, Reader(language)), file=sys.stderr)
    return 2
