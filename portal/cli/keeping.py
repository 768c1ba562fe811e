"""Maintenance verbs: migrate, shop, person, forecast, sweep, erase."""

import argparse
import getpass
import sys
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from portal.cli.appraising import read_text
from portal.cli.erased import erased_before, remember_erased
from portal.cli.opening import bring_up, opened, reader_of
from portal.cli.parsing import Parser
from portal.craft.messages import CraftError, Message, Plural
from portal.orders.access.signing_in import add_person
from portal.orders.counter.unfetched import remind_unfetched
from portal.orders.kernel.errors import Refusal
from portal.orders.office.erasing import erase_again, erase_customer
from portal.orders.office.retention import sweep
from portal.orders.office.seeding import ImportChange, changes_of_import, import_shop
from portal.orders.planning.forecasting import reforecast_all
from portal.render.text import render
from portal.settings import BadSetting, Settings, read_settings
from portal.shop.roles import Role

TOLD_CHANGES = 40
WHO = Message("the code of one of the customer’s jobs, or their e-mail address")
FORECAST = Plural("{count} open job was forecast anew.", "{count} open jobs were forecast anew.")


def arguments(verb: str, parser: Parser) -> None:
    if verb == "shop":
        for own, says in (("shop", Message("the shop file")), ("powders", Message("its powders"))):
            parser.add_argument(own, type=Path, help=says)
        parser.add_argument(
            "--yes", action="store_true", help=Message("also where it changes what is in force")
        )
    elif verb == "person":
        parser.add_argument("login", help=Message("the name to sign in with"))
        parser.add_argument("--name", help=Message("the name that is shown beside what they do"))
        parser.add_argument(
            "--role",
            choices=[str(r) for r in Role],
            default=str(Role.OFFICE),
            help=Message("what they may do; “office” if left out"),
        )
    elif verb == "erase":
        parser.add_argument("who", metavar="CODE", help=WHO)


def run(verb: str, args: argparse.Namespace) -> int:
    """Run one verb and print its answer; 1 for a refusal, 2 for a file that can't be read."""
    settings = read_settings()
    work: dict[str, Callable[[Settings, argparse.Namespace], Message]] = {
        "migrate": _migrate,
        "shop": _shop,
        "person": _person,
        "forecast": _forecast,
        "sweep": _sweep,
        "erase": _erase,
    }
    try:
        answer = work[verb](settings, args)
    except Refusal as refusal:
        return _refuse(refusal.sentence, settings, args, 1)
    except CraftError as wrong:
        says = Message("{key}: {why}", key=wrong.key, why=wrong.sentence)
        return _refuse(says if wrong.key else wrong.sentence, settings, args, 2)
    print(render(answer, reader_of(settings, args.lang)))
    return 0


def _refuse(sentence: Message, settings: Settings, args: argparse.Namespace, code: int) -> int:
    print(render(sentence, reader_of(settings, args.lang)), file=sys.stderr)
    return code


def _migrate(settings: Settings, _args: argparse.Namespace) -> Message:
    bring_up(settings)
    return Message("The database is up to date.")


def _shop(settings: Settings, args: argparse.Namespace) -> Message:
    shop, powders = read_text(args.shop), read_text(args.powders)
    bring_up(settings)
    with opened(settings) as unit:
        changed = () if args.yes else changes_of_import(unit, shop)
        if changed:
            raise BadSetting(*_would_change(args.shop.name, changed))
        import_shop(unit, shop, powders, at=unit.now())
    return Message("Read {shop} and {powders}.", shop=args.shop.name, powders=args.powders.name)


def _would_change(file: str, changed: Sequence[ImportChange]) -> Iterator[Message]:
    """Yield what a shop file would change of what is in force, edits in the office included."""
    yield Message("{file} would change what is in force. Nothing was changed.", file=file)
    for one in changed[:TOLD_CHANGES]:
        yield Message(
            "{document}, {key}: {before} → {after}",
            document=one.document,
            key=one.path,
            before=one.before,
            after=one.after,
        )
    if len(changed) > TOLD_CHANGES:
        yield Message("… and {n} more.", n=len(changed) - TOLD_CHANGES)
    yield Message("With --yes the file is put in force all the same.")


def _person(settings: Settings, args: argparse.Namespace) -> Message:
    bring_up(settings)
    reader = reader_of(settings, args.lang)
    asks = Message("Password (15 characters or more):"), Message("Once more:")
    try:
        password, again = (getpass.getpass(f"{render(one, reader)} ") for one in asks)
    except EOFError:
        raise BadSetting(Message("No password was typed. Nothing was changed.")) from None
    if again != password:
        raise BadSetting(Message("The two passwords differ. Nothing was changed."))
    with opened(settings) as unit:
        add_person(
            unit,
            login=args.login,
            name=args.name or args.login,
            role=Role(args.role),
            password=password,
        )
    return Message("{login} can sign in.", login=args.login)


def _forecast(settings: Settings, _args: argparse.Namespace) -> Message:
    with opened(settings) as unit:
        count = reforecast_all(unit)
    return FORECAST.of(count)


def _sweep(settings: Settings, _args: argparse.Namespace) -> Message:
    with opened(settings) as unit:
        remind_unfetched(unit)
        erase_again(unit, erased_before(settings))
        return sweep(unit).says


def _erase(settings: Settings, args: argparse.Namespace) -> Message:
    with opened(settings) as unit:
        codes = erase_customer(unit, args.who)
        for code in codes:
            remember_erased(settings, code)
        unit.wipe()
    copies = sorted(one.name for one in settings.data_dir.glob("before-restore-*"))
    return Message(
        "Erased: name, e-mail address, telephone number, vehicle, photos, notes and letters. Jobs: "
        "{jobs}. Events and sums stay, and the buyer of an invoice for as long as the law asks. "
        "Backups still hold the rest until you delete them. {copies}",
        jobs=len(codes),
        copies=Message("Here: {names}.", names=", ".join(copies)) if copies else "",
    )
