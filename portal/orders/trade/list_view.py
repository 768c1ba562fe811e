"""A list as its page shows it: each row read, priced and dated, and what all come to."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.answers import About, Caution
from portal.craft.messages import CraftError, Message
from portal.craft.parts import Bringing, PartKind
from portal.orders.intake.draft_answers import Answers
from portal.orders.intake.draft_view import Offered, assessed, still_offered
from portal.orders.kernel.firms import FirmCredit, credit_of, firm_row, shop_for_firm
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.orders.planning.free_times import FreeTimes, free_times
from portal.orders.trade.lists import list_of
from portal.shop.assessment.assess import Assessment, assess
from portal.shop.assessment.open_cases import cases_of
from portal.shop.calendar.week import Window
from portal.shop.codes import shown
from portal.shop.lists.columns import ListColumn, OnThem, TypedRow, rows_from_json
from portal.shop.lists.reading import Reading, ReadRow, read_row
from portal.shop.lists.words import Words
from portal.shop.money import Money
from portal.shop.pricing.part_prices import SINCE_LATER
from portal.shop.shop import Shop
from portal.store.tables import FirmList

# where a refusal of the trade can be answered in a list
AT_COLUMN = {About.ITEMS: ListColumn.ON_THEM, About.FINISH: ListColumn.COLOUR}

OVER = Message(
    "With this list you would owe {sum}. We agreed on {limit} at most. Book fewer sets, pay open "
    "invoices first, or call us."
)


@dataclass(frozen=True, slots=True)
class FirmFacts:
    """What of a firm its lists are read by."""

    firm_id: int
    name: str
    contact: str
    email: str
    phone: str
    locale: str
    on_them: OnThem
    fetched: bool


@dataclass(frozen=True, slots=True)
class ListedSet:
    """One row of a list: what it was read as, its price, and its promise for the chosen time."""

    read: ReadRow
    assessment: Assessment | None = None
    offer: Offered | None = None
    problems: Mapping[ListColumn, Message] | None = None

    @property
    def row(self) -> TypedRow:
        """The row as it was written."""
        return self.read.row

    @property
    def wrong(self) -> Mapping[ListColumn, Message]:
        """What is wrong with it, beside the cells; empty for a good row."""
        return self.problems if self.problems is not None else self.read.problems

    @property
    def good(self) -> bool:
        """Whether it can be booked."""
        return not self.wrong and self.assessment is not None

    @property
    def too_late(self) -> bool:
        """Whether it is ready only after the day for which it was wanted."""
        wanted, offer = self.read.wanted, self.offer
        return bool(wanted and offer and offer.ready_at.date() > wanted)


@dataclass(frozen=True, slots=True)
class ListView:
    """A list with its rows, what the good ones come to, and when they can be brought.

    `windows` are the free drop-off times; `slot` is the chosen one, else the first.
    """

    list_id: int
    version: int
    sets: tuple[ListedSet, ...]
    windows: tuple[Window, ...]
    slot: datetime | None
    slot_lost: bool
    credit: FirmCredit
    firm: FirmFacts
    booked_at: datetime | None
    today: date

    @property
    def good(self) -> tuple[ListedSet, ...]:
        """The rows that can be booked."""
        return tuple(one for one in self.sets if one.good)

    @property
    def bad(self) -> tuple[ListedSet, ...]:
        """The rows that can't be booked yet."""
        return tuple(one for one in self.sets if not one.good)

    @property
    def total(self) -> Money:
        """What the good rows come to."""
        return self._sum(lambda order: order.quote.total.minor)

    @property
    def most(self) -> Money:
        """What they come to at most."""
        return self._sum(lambda order: order.quote.high.minor)

    @property
    def ready_at(self) -> datetime | None:
        """When the last of them is ready."""
        return max((one.offer.ready_at for one in self.good if one.offer), default=None)

    @property
    def to_confirm(self) -> tuple[Caution, ...]:
        """What the firm accepts before it books, each once."""
        found: dict[str, Caution] = {}
        for one in self.good:
            for caution in one.assessment.to_confirm if one.assessment else ():
                found.setdefault(caution.key, caution)
        return tuple(found.values())

    @property
    def over_limit(self) -> Message | None:
        """That these sets, with all that is owed and booked, are above the limit; None if not."""
        limit, owed = self.credit.limit, self.credit.with_all(self.total)
        if limit is None or owed <= limit:
            return None
        return Message(OVER.msgid, sum=owed, limit=limit)

    @property
    def agreement(self) -> str:
        """Prices and dates of all rows as one text, which the page sends back."""
        dates = "-".join(f"{one.offer.ready_at:%Y%m%d%H}" for one in self.good if one.offer)
        slot = f"{self.slot:%Y%m%d%H%M}" if self.slot else ""
        return f"{self.version}.{self.total.minor}.{self.most.minor}.{slot}.{dates}"

    def _sum(self, of: Callable[[Assessment], int]) -> Money:
        minor = sum(of(one.assessment) for one in self.good if one.assessment)
        return Money(minor, self.credit.owed.currency)


@dataclass(frozen=True, slots=True)
class ListLine:
    """A list in a list of lists; `codes` are its jobs once it is booked."""

    list_id: int
    rows: int
    references: tuple[str, ...]
    updated_at: datetime
    booked_at: datetime | None
    codes: tuple[str, ...]


def firm_facts(session: Session, firm_id: int) -> FirmFacts:
    """Return what a firm's lists are read by."""
    firm = firm_row(session, firm_id)
    on = OnThem.BARE if firm.bringing is Bringing.BARE else OnThem.TYRES
    return FirmFacts(
        firm.id, firm.name, firm.contact, firm.email, firm.phone, firm.locale, on, firm.fetched
    )


@read_only
def facts_of(_unit: UnitOfWork, session: Session, firm_id: int) -> FirmFacts:
    """Return the same for a page."""
    return firm_facts(session, firm_id)


def list_view(
    unit: UnitOfWork,
    firm_id: int,
    list_id: int,
    words: Words,
    slot: datetime | None = None,
    rows: tuple[TypedRow, ...] | None = None,
) -> ListView:
    """Return a list as it stands, or with `rows` and `slot` as they stand on the page.

    Raises Unknown for a list of somebody else.
    """
    now = unit.now()
    with unit.read() as session:
        stored = list_of(session, firm_id, list_id)
        facts = firm_facts(session, firm_id)
        shop = shop_for_firm(unit, session, firm_id)
        credit = credit_of(session, firm_id, shop.currency)
        version, booked_at, slot = stored.version, stored.booked_at, slot or stored.slot
        rows_listed = rows_from_json(stored.rows) if rows is None else rows
    by = reading_of(words, shop, facts.on_them, shop.day(now))
    found = _assessed(rows_listed, by, facts, shop, now)
    free = free_times(unit)
    lost = slot is not None and slot not in {one.start for one in free.windows}
    start = None if lost else slot
    if start is None and free.windows:
        start = free.windows[0].start
    return ListView(
        list_id,
        version,
        _dated(found, free, start, shop),
        free.windows,
        start,
        lost,
        credit,
        facts,
        booked_at,
        shop.day(now),
    )


def reading_of(words: Words, shop: Shop, on_them: OnThem, today: date) -> Reading:
    """Return what rows are read by in this shop."""
    kinds = frozenset(k for k in PartKind if k not in SINCE_LATER or k in shop.tariff.parts)
    return Reading(words, shop.stock, kinds, today, on_them)


def _assessed(
    rows: tuple[TypedRow, ...], by: Reading, facts: FirmFacts, shop: Shop, now: datetime
) -> list[ListedSet]:
    found: list[ListedSet] = []
    for row in rows:
        # the way there and back is paid once: with the first set
        first = not any(one.good for one in found)
        found.append(_one(read_row(row, by), shop, now, fetched=facts.fetched and first))
    return found


def _one(read: ReadRow, shop: Shop, now: datetime, *, fetched: bool) -> ListedSet:
    if read.declared is None:
        return ListedSet(read)
    declared = replace(read.declared, fetched=fetched)
    saved = {f"fitted:{one.key}": 1 for one in declared.sets}
    try:
        answers = still_offered(Answers(declared=declared, saved=saved), shop)
        order = assessed(answers, shop, now)
    except CraftError as wrong:
        return ListedSet(read, problems={ListColumn.PARTS: wrong.sentence})
    if order.refused:
        first = order.refused[0]
        return ListedSet(read, problems={AT_COLUMN.get(first.about, ListColumn.PARTS): first.says})
    if order.assumed:
        problem = Message("Something is missing in this row.")
        return ListedSet(read, problems={ListColumn.COLOUR: problem})
    return ListedSet(read, order)


def _dated(
    found: list[ListedSet], free: FreeTimes, start: datetime | None, shop: Shop
) -> tuple[ListedSet, ...]:
    """Return the rows with the promise of each good one."""
    good = [one for one in found if one.good]
    orders = [_longest(one.assessment, shop, free.now) for one in good if one.assessment]
    offers = iter(free.offers_together(orders, start) if start else ())
    dated: list[ListedSet] = []
    for one in found:
        offer = next(offers, None) if one.good else None
        if offer is not None:
            at, ready = offer.window, offer.ready_at
            promised = Offered(at.start, at.end, at.places, ready, ready, foreseen=offer.foreseen)
            dated.append(replace(one, offer=promised))
        else:
            dated.append(one)
    return tuple(dated)


def _longest(order: Assessment, shop: Shop, now: datetime) -> Assessment:
    """Return the order in the longest case of what is not known of its parts."""
    cases = cases_of(order.declared, shop.practice)
    return assess(cases.longest, shop, shop.day(now)) if cases else order


@read_only
def lists_of(_unit: UnitOfWork, session: Session, firm_id: int) -> tuple[ListLine, ...]:
    """Return a firm's lists, the last one first."""
    query = (
        sa.select(FirmList)
        .where(FirmList.firm_id == firm_id)
        .order_by(FirmList.updated_at.desc(), FirmList.id.desc())
        .limit(40)
    )
    return tuple(_line(one) for one in session.scalars(query))


def _line(one: FirmList) -> ListLine:
    rows = rows_from_json(one.rows)
    references = tuple(filter(None, (row.cell(ListColumn.REFERENCE) for row in rows)))
    codes = tuple(shown(str(row["code"])) for row in one.rows if row.get("code"))
    return ListLine(one.id, len(rows), references, one.updated_at, one.booked_at, codes)
