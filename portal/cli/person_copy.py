"""`export`: all that is kept of one customer, in one archive to be handed to them."""

import argparse
import json
import os
import sys
import zipfile
from datetime import date
from pathlib import Path
from typing import Any

from portal.cli.keeping import WHO
from portal.cli.opening import opened, reader_of
from portal.cli.parsing import Parser
from portal.craft.messages import Message
from portal.orders.kernel.errors import Refusal
from portal.orders.office.person_data import PersonData, person_data
from portal.render.reader import Reader
from portal.render.text import render
from portal.settings import read_settings


def arguments(_verb: str, parser: Parser) -> None:
    parser.add_argument("who", metavar="CODE", help=WHO)
    parser.add_argument("file", type=Path, help=Message("the archive to write, such as copy.zip"))


def run(_verb: str, args: argparse.Namespace) -> int:
    """Write the archive; 1 where nothing is kept of this person, 2 where it can't be written."""
    settings = read_settings()
    reader = reader_of(settings, args.lang)
    try:
        with opened(settings) as unit:
            data = person_data(unit, args.who)
        write(data, args.file, reader)
    except Refusal as refusal:
        print(render(refusal.sentence, reader), file=sys.stderr)
        return 1
    except OSError as wrong:
        says = Message("{file} can't be written: {why}.", file=str(args.file), why=wrong.strerror)
        print(render(says, reader), file=sys.stderr)
        return 2
    rows = sum(map(len, data.tables.values()))
    says = Message(
        "{file} has {rows} entries and {photos} photos. Hand it to nobody else.",
        file=str(args.file),
        rows=rows,
        photos=len(data.photos),
    )
    print(render(says, reader))
    return 0


def write(data: PersonData, target: Path, reader: Reader) -> None:
    """Write `data.json` and the photos into an archive that only its owner can read."""
    flags = os.O_WRONLY | os.O_CREAT | os.O_TRUNC
    with (
        os.fdopen(os.open(target, flags, 0o600), "wb") as out,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive,
    ):
        archive.writestr("data.json", _json(data, reader))
        for name, jpeg in data.photos.items():
            archive.writestr(name, jpeg)


def _json(data: PersonData, reader: Reader) -> str:
    def plain(value: Any) -> Any:
        if isinstance(value, Message):
            return render(value, reader)
        return value.isoformat() if isinstance(value, date) else str(value)

    return json.dumps(data.tables, default=plain, ensure_ascii=False, indent=1)
