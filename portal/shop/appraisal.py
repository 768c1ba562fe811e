"""An order file appraised and priced: what `python -m portal appraise FILE.toml` speaks of.

Pure: texts in, values out. Prices carry the latest rate of tax on the list.
"""

import tomllib
from dataclasses import dataclass
from datetime import date

from portal.craft.declared import read_declared
from portal.craft.messages import CraftError, Message
from portal.craft.parts import Declared
from portal.shop.assessment.assess import Assessment, assess
from portal.shop.assessment.delivery_options import Way, usual_days, ways
from portal.shop.shop import Shop, read_shop
from portal.shop.toml_lines import line_of

LATEST = date.max
_NO_PARTS = Message("The order names no parts. Add a [[sets]] table for each kind of part.")


@dataclass(frozen=True, slots=True)
class Appraised:
    """An order as it was assessed, the shop that was asked, and the ways of bringing the parts."""

    order: Assessment
    shop: Shop
    ways: tuple[Way, ...]


def appraise_file(text: str, shop_text: str, powders_text: str) -> Appraised:
    """Return the appraisal of an order file.

    Raises CraftError whose sentence names line and key of the order file, or of the shop's.
    """
    try:
        # no day is asked for, so no calendar is wanted
        shop = read_shop(shop_text, powders_text, calendar_checked=True)
    except CraftError as wrong:
        raise _located(wrong, shop_text, Message("the shop file")) from None
    try:
        declared = read_declared(tomllib.loads(text))
        if not declared.sets:
            raise CraftError(_NO_PARTS)
        _check_powders(declared, shop)
        order = assess(declared, shop, LATEST)
    except tomllib.TOMLDecodeError as wrong:
        raise CraftError(Message("We can't read this TOML file: {why}", why=str(wrong))) from None
    except CraftError as wrong:
        raise _located(wrong, text, Message("the order")) from None
    return Appraised(order, shop, ways(declared, shop, LATEST))


def _check_powders(declared: Declared, shop: Shop) -> None:
    """Refuse a powder that the shop doesn't have: in a file it is most likely a slip."""
    for i, one in enumerate(declared.sets):
        for key in ("colour", "face", "barrel") if one.finish else ():
            code = getattr(one.finish, key)
            if code and code not in shop.stock:
                raise CraftError(
                    Message("We have no powder “{code}”.", code=code),
                    key=f"sets[{i}].finish.{key}",
                )


def _located(wrong: CraftError, text: str, where: Message) -> CraftError:
    line = line_of(text, wrong.key)
    if line is None:
        at = Message("{where}, {key}: {why}", where=where, key=wrong.key, why=wrong.sentence)
        return CraftError(at if wrong.key else wrong.sentence, key=wrong.key)
    return CraftError(
        Message(
            "{where}, line {line}, {key}: {why}",
            where=where,
            line=line,
            key=wrong.key,
            why=wrong.sentence,
        ),
        key=wrong.key,
    )


@dataclass(frozen=True, slots=True)
class Days:
    """The usual working days: in the house, at the stripper, waiting for powder, together."""

    here: int
    outside: int
    waiting_for_powder: int
    together: int


def days_of(appraised: Appraised) -> Days:
    """Return the usual working days.

    Parts are booked to arrive when the powder has, so the wait comes before the rest.
    """
    appraisal = appraised.order.appraisal
    wait = max(appraisal.powder_days, appraisal.sample_days)
    together = usual_days(appraisal, appraised.shop.tariff)
    outside = appraisal.outside_days
    return Days(together - outside, outside, wait, together + wait)
