"""The edition of the price list that a draft was last shown, and what a new one changes.

A customer who answers for days may meet a new price list. The first page under it says so; the next
press confirms it.
"""

from dataclasses import dataclass
from datetime import date, datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.shop.assessment.assess import Assessment
from portal.shop.money import Money
from portal.shop.pricing.price_list import Tariff, read_tariff
from portal.shop.pricing.quote import quote
from portal.shop.states import DocumentKind
from portal.store.tables import SettingsEdition


@dataclass(frozen=True, slots=True)
class PriceEdition:
    """The price list in force: its number, since when; `shown` is the one shown last, if older."""

    number: int
    since: datetime
    shown: Tariff | None = None


@dataclass(frozen=True, slots=True)
class Repriced:
    """What a new price list has made of an order, and since when it is in force."""

    on: datetime
    was: Money
    now: Money


# built once: building a statement costs more than running it
_IN_FORCE = (
    sa.select(SettingsEdition.id, SettingsEdition.effective_from)
    .where(
        SettingsEdition.kind == DocumentKind.PRICES,
        SettingsEdition.effective_from <= sa.bindparam("now"),
    )
    .order_by(SettingsEdition.effective_from.desc(), SettingsEdition.id.desc())
    .limit(1)
)


def edition(session: Session, shown: int, now: datetime) -> PriceEdition | None:
    """Return the price list in force, with the one of number `shown` where that is another."""
    row = session.execute(_IN_FORCE, {"now": now}).first()
    if row is None:
        return None
    if shown in (0, row.id):
        return PriceEdition(row.id, row.effective_from)
    body = session.scalar(
        sa.select(SettingsEdition.body).where(
            SettingsEdition.id == shown, SettingsEdition.kind == DocumentKind.PRICES
        )
    )
    return PriceEdition(row.id, row.effective_from, read_tariff(body) if body else None)


def repriced(found: PriceEdition | None, order: Assessment, on: date) -> Repriced | None:
    """Return what the new price list has changed; None where the sum is the same."""
    now = order.quote.total
    if found is None or found.shown is None or found.shown.currency != now.currency:
        return None
    was = quote(order.declared, order.appraisal, found.shown, on).total
    return None if was == now else Repriced(found.since, was, now)
