"""What the customer holds in hand after booking: slip, PDF, letter, tags and status page."""

import re
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

import pypdfium2 as pdfium
import sqlalchemy as sa

from portal.craft.declared import read_declared
from portal.store.tables import Job, Letter
from tests.customers import figures, watch
from tests.customers.figures import Told
from tests.customers.house import House
from tests.customers.person import Person
from tests.customers.plans import Plan
from tests.customers.watch import must
from tests.page import words

# what staff write for each other, and no customer may read
FOR_STAFF = "zzz red van zzz"


@dataclass
class Order:
    """A booked order and all who have to do with it. `parts` are those that came with it."""

    house: House
    plan: Plan
    told: Told
    customer: Person
    path: str
    code: str = ""
    drop_off: datetime | None = None
    parts: int = 0
    paid: int = 0
    corners: int = 0
    settled: bool = False
    fetchers: int = 0
    read: set[int] = field(default_factory=set)

    @property
    def token(self) -> str:
        return self.path.rsplit("/", 1)[1]

    def days(self, text: str, language: str = "") -> list[str]:
        """Return the days that a text names in the customer's language."""
        today = self.house.clock.now().date()
        return figures.days_in(text, language or self.plan.language, today)


def papers(order: Order) -> None:
    """Read everything that a booking hands out, and hold it against what was told before."""
    status(order)
    slip(order)
    breakdown(order)
    tags(order)
    order.customer.raw(f"{order.path}/drop-off.ics")
    letters(order)


def status(order: Order) -> None:
    """The status page tells the price and the promised day."""
    page = order.customer.get(order.path).page
    where = "the status page"
    must(FOR_STAFF not in page.html, f"{where} tells a note of the staff")
    owed = page.one(class_="owed")
    told, smalls = figures.sums(words(owed)), [figures.sums(words(e)) for e in owed.iter("small")]
    limit = smalls[0] if len(smalls) > 1 else []
    order.told.price([*told[:1], *limit], where)
    if order.paid:
        due = int(order.told.of("price")) - order.paid
        must(
            told[-2:] == [order.paid, due], f"{where}: paid and to pay are not {order.paid}, {due}"
        )
    for one in page.all(data_kind="promise"):
        order.told.promise(order.days(words(one)), where, settled=order.settled)


def slip(order: Order) -> None:
    """The slip tells the same price, day and parts as the check page; its PDF as the slip."""
    page = order.customer.get(f"{order.path}/slip").page
    where = "the slip"
    order.code = words(page.all(class_="code")[0])
    order.told.price(figures.total_row(page), where)
    figures.adds_up(page, where)
    top = page.one(class_="top-when")
    must(order.told.of("price") in figures.sums(words(top)), f"the head of {where}: another price")
    order.told.promise(order.days(" ".join(map(words, top.iter("dl")))), where)
    lines = [words(e) for s in page.all(aria_labelledby="bring") for e in s.iter("li")]
    order.parts = figures.counted(lines)
    order.told.tell("parts", order.parts, where)
    _look_up(order)
    if order.plan.pdf:
        _pdf(order, words(top))


def _look_up(order: Order) -> None:
    """Note when the parts are to come, and what was really booked."""
    with order.house.unit.read() as session:
        row = session.execute(
            sa.select(Job.dropoff_at, Job.declared).where(Job.token == order.token)
        ).one()
    order.drop_off, booked = row.dropoff_at, read_declared(row.declared)
    order.plan.note("way", str(booked.bringing))
    for one in booked.sets:
        order.plan.note("kind", one.kind.value)
        order.plan.note("system", one.finish.system.value if one.finish else "none")


def _pdf(order: Order, head: str) -> None:
    """Every figure and word of the slip's head stands in its PDF too."""
    body = order.customer.raw(f"{order.path}/slip.pdf").data
    with pdfium.PdfDocument(body) as document:
        must(len(document) == 1, f"the slip's PDF has {len(document)} pages")
        text = document[0].get_textpage().get_text_range()
    tidy = re.sub(r"\s+", "", text)
    for word in head.split():
        must(re.sub(r"\s+", "", word) in tidy, f"the slip's PDF does not say “{word}”")
    must(order.told.of("price") in figures.sums(text), "the slip's PDF tells another price")
    watch.no_holes(text, "the slip's PDF")
    watch.own_words(text, order.plan.language, order.customer.allowed, "the slip's PDF")
    order.plan.note("paper", "PDF")


def breakdown(order: Order) -> None:
    """The breakdown's lines add up, to the same price."""
    page = order.customer.get(f"{order.path}/price").page
    order.told.price(figures.total_row(page), "the price breakdown")
    figures.adds_up(page, "the price breakdown")


def tags(order: Order) -> None:
    """There is one paper tag for every part."""
    page = order.customer.get(f"{order.path}/tags").page
    found = [e for e in page.all("article", class_="label") if "bag" not in (e.get("class") or "")]
    order.told.tell("parts", len(found), "the paper tags")


def letters(order: Order) -> list[Letter]:
    """Read what came by post since the last time; return the new letters, oldest first."""
    with order.house.unit.read() as session:
        query = sa.select(Letter).where(Letter.id.not_in(order.read)).order_by(Letter.id)
        fresh = list(session.scalars(query))
        session.expunge_all()
    for one in fresh:
        order.read.add(one.id)
        where = f"the letter “{one.kind}”"
        text = f"{one.subject}\n{one.text}"
        watch.no_holes(text, where)
        must(FOR_STAFF not in text + one.html, f"{where} tells a note of the staff")
        must(not re.search(r"^None$|: None$", text, re.MULTILINE), f"{where} says None")
        watch.own_words(text, order.plan.language, order.customer.allowed, where)
        # what goes to an address that is left leads nowhere
        leads = order.token in one.text or "/r/" in one.text or one.kind == "contact_changed"
        must(leads, f"{where} has no link to the order")
        order.plan.note("letter", one.kind)
        if one.kind == "booked":
            order.told.price(figures.sums(one.text)[:1], where)
            # the day of the drop-off stands before it
            order.told.promise(order.days(one.text)[1:], where)
    return fresh


def note_for_staff(desk: Any) -> None:
    """Write a note on the job; the customer's pages and letters never tell it."""
    desk.get(desk.job)
    desk.press("/note", {"text": FOR_STAFF})
    must(FOR_STAFF in desk.page.text, "the note is not on the job")
    desk.order.plan.note("staff", "a note")
