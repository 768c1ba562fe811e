"""Maintenance verbs: migrate, shop, person, forecast, sweep, backup, restore, erase."""

import argparse
import getpass
import shutil
import sqlite3
import sys
from pathlib import Path

from portal.cli.opening import opened
from portal.orders.access.signing_in import add_person
from portal.orders.kernel.errors import Refusal
from portal.orders.office.erasing import erase_customer
from portal.orders.office.retention import sweep
from portal.orders.office.seeding import import_shop
from portal.orders.planning.forecasting import reforecast_all
from portal.render.reader import Reader
from portal.render.text import render
from portal.settings import HOUSE, BadSetting, Settings, read_settings
from portal.shop.roles import Role
from portal.store import migrations

ERASED = "erased.txt"


def _erased_before(settings: Settings) -> list[str]:
    path = settings.data_dir / ERASED
    return path.read_text(encoding="ascii").split() if path.exists() else []


def arguments(verb: str, parser: argparse.ArgumentParser) -> None:
    if verb == "shop":
        parser.add_argument("shop", type=Path, nargs="?", default=HOUSE / "demo_seed/shop.toml")
        parser.add_argument(
            "powders", type=Path, nargs="?", default=HOUSE / "demo_seed/powders.csv"
        )
    elif verb == "person":
        parser.add_argument("login", help="the name to sign in with")
        parser.add_argument("--name", help="the name that stands beside events")
        parser.add_argument("--role", choices=[str(r) for r in Role], default=str(Role.OFFICE))
    elif verb in {"backup", "restore"}:
        parser.add_argument("file", type=Path)
    elif verb == "erase":
        parser.add_argument("code", help="the code of a job of theirs")


def run(verb: str, args: argparse.Namespace) -> int:
    """Run one verb and print refusals."""
    try:
        print(
            {
                "migrate": _migrate,
                "shop": _shop,
                "person": _person,
                "forecast": _forecast,
                "sweep": _sweep,
                "backup": _backup,
                "restore": _restore,
                "erase": _erase,
            }[verb](read_settings(), args)
        )
    except Refusal as refusal:
        print(render(refusal.sentence, Reader()), file=sys.stderr)
        return 1
    return 0


def _migrate(settings: Settings, _args: argparse.Namespace) -> str:
    migrations.upgrade(settings.database_url)
    return "The database is up to date."


def _shop(settings: Settings, args: argparse.Namespace) -> str:
    migrations.upgrade(settings.database_url)
    with opened(settings) as unit:
        import_shop(
            unit,
            args.shop.read_text(encoding="utf-8"),
            args.powders.read_text(encoding="utf-8"),
            at=unit.now(),
        )
    return f"Read {args.shop.name} and {args.powders.name}."


def _person(settings: Settings, args: argparse.Namespace) -> str:
    migrations.upgrade(settings.database_url)
    password = getpass.getpass("Password (15 characters or more): ")
    if getpass.getpass("Once more: ") != password:
        msg = "The two passwords differ; nothing was changed."
        raise BadSetting(msg)
    with opened(settings) as unit:
        add_person(
            unit,
            login=args.login,
            name=args.name or args.login,
            role=Role(args.role),
            password=password,
        )
    return f"{args.login} can sign in."


def _forecast(settings: Settings, _args: argparse.Namespace) -> str:
    with opened(settings) as unit:
        return f"{reforecast_all(unit)} open jobs forecast anew."


def _sweep(settings: Settings, _args: argparse.Namespace) -> str:
    with opened(settings) as unit:
        return render(sweep(unit).says, Reader())


def _file_of(settings: Settings) -> Path:
    prefix = "sqlite:///"
    if not settings.database_url.startswith(prefix):
        msg = "This verb is for the embedded database; use pg_dump and pg_restore for PostgreSQL."
        raise BadSetting(msg)
    return Path(settings.database_url.removeprefix(prefix))


def _backup(settings: Settings, args: argparse.Namespace) -> str:
    with sqlite3.connect(_file_of(settings)) as source, sqlite3.connect(args.file) as target:
        source.backup(target)
    target.close()
    return f"Copied to {args.file}."


def _restore(settings: Settings, args: argparse.Namespace) -> str:
    with sqlite3.connect(f"file:{args.file}?mode=ro", uri=True) as source:
        sound = source.execute("PRAGMA integrity_check").fetchone()[0]
    if sound != "ok":
        msg = f"{args.file} is damaged: {sound}"
        raise BadSetting(msg)
    here = _file_of(settings)
    if here.exists():
        shutil.copy(here, here.with_suffix(".before-restore"))
    with sqlite3.connect(args.file) as source, sqlite3.connect(here) as target:
        source.backup(target)
    migrations.upgrade(settings.database_url)
    again = _erased_before(settings)
    with opened(settings) as unit:
        for code in again:
            erase_customer(unit, code)
    return f"Restored from {args.file}; {len(again)} erasures done again."


def _erase(settings: Settings, args: argparse.Namespace) -> str:
    with opened(settings) as unit:
        code = erase_customer(unit, args.code)
    # beside the database, so that a restored backup can't bring the customer back
    with (settings.data_dir / ERASED).open("a", encoding="ascii") as out:
        out.write(code + "\n")
    return "Erased: name, e-mail, telephone, vehicle and photos. The events and sums stay."
