"""One sum and one date: on every page, slip, letter, status page and counter page the same."""

import random
from dataclasses import dataclass, replace
from datetime import timedelta
from decimal import Decimal

import pytest
import sqlalchemy as sa

from portal.craft.markings import read_rim
from portal.craft.parts import (
    Bringing,
    Damage,
    Declared,
    FinishChoice,
    Gloss,
    Item,
    Layer,
    Metal,
    PartKind,
    PartSet,
    System,
    WheelBuild,
)
from portal.orders.intake import drafts
from portal.orders.intake.draft_answers import Answers, Contact
from portal.orders.intake.draft_view import DraftView, compared_ways, look
from portal.orders.office import documents
from portal.shop.pricing.statements import DateStatement, PriceStatement, price_of_quote
from portal.store.tables import Job, Letter
from portal.web.kit.i18n.filters import stated
from portal.web.kit.i18n.languages import render
from tests.cast import COUNTER, sign_in
from tests.page import Page, checked_client, page_of, words
from tests.web.walk import Customer

STEPS = ("parts", "on-them", "comes-off", "finish", "day", "you", "read-back")
RIMS = ("8Jx18 ET35", "8½J×19 ET35", "9½J×19 ET40", "7Jx17")
BLACK = FinishChoice(System.SINGLE, "R9005-S", Gloss.SATIN)


def a_set(key: str, chance: random.Random) -> PartSet:
    if chance.random() < 0.3:
        return PartSet(
            key=key,
            kind=PartKind.CALIPER,
            count=2,
            metal=Metal.CAST_IRON,
            size_mm=(260, 140, 120),
            layers=(chance.choice((Layer.LIQUID_PAINT, Layer.UNKNOWN)),),
            finish=FinishChoice(System.SINGLE, "R3020-G", Gloss.GLOSS),
        )
    marking = chance.choice(RIMS)
    return PartSet(
        key=key,
        kind=PartKind.WHEEL,
        count=chance.choice((1, 2, 4)),
        build=chance.choice((WheelBuild.CAST, WheelBuild.FORGED, WheelBuild.UNKNOWN)),
        rim=read_rim(marking).rim,
        rim_text=marking,
        layers=(chance.choice((Layer.FACTORY_PAINT, Layer.BARE, Layer.UNKNOWN)),),
        damage=chance.choice(((), (Damage.KERB_RASH,), (Damage.CORROSION,))),
        fitted=chance.choice(((), (Item.TYRE, Item.WEIGHTS, Item.VALVE, Item.CENTRE_CAP))),
        finish=BLACK,
    )


def a_draft(unit, customer: Customer, seed: int) -> DraftView:
    """Put a random order into the customer's draft, up to the last page."""
    chance = random.Random(seed)
    sets = tuple(a_set(key, chance) for key in "ABC"[: chance.choice((1, 2, 3))])
    wheels = any(one.kind is PartKind.WHEEL for one in sets)
    way = chance.choice(list(Bringing)) if wheels else Bringing.BARE
    told = Declared(sets=sets, bringing=way, rush=chance.random() < 0.2)

    def change(answers: Answers) -> Answers:
        saved = {f"fitted:{one.key}": 1 for one in sets} | dict(answers.saved)
        return replace(answers, declared=told, saved=saved)

    drafts.save(unit, customer.token, "parts", 0, change)
    first = look(unit, customer.token).offers[0].start
    contact = Contact("Robin Sample", "robin@example.com", "+447700900123")
    drafts.save(
        unit,
        customer.token,
        "day",
        9,
        lambda answers: replace(answers, slot=first, contact=contact),
    )
    return look(unit, customer.token)


def sums(text: str) -> str:
    return " ".join(text.split())


@dataclass(frozen=True)
class Words:
    """What every place must say of one order, in its two halves."""

    total: str
    limit: str
    whole: str
    day: str
    expected_day: str
    latest: str


def words_of(app, price: PriceStatement, date: DateStatement) -> Words:
    with app.test_request_context("/o/X/parts"):
        whole, days = render(price.sentence), render(date.sentence)
        day = str(stated(date)).partition(">")[2].partition("<")[0] if date.firm else days
        first = whole.split(" ")[0]
        return Words(
            total=first if price.firm else f"{first} expected",
            limit=render(price.limit) if price.limit else "",
            whole=whole,
            day=day,
            expected_day=days.partition(";")[0],
            latest=render(date.limit) if date.limit else "",
        )


def check_intake(unit, customer: Customer, seen: DraftView, say: Words) -> None:
    with unit.read() as session:
        ways = compared_ways(seen.answers, unit.shop(session), unit.now())
    chosen = next(way for way in ways if way.bringing is seen.answers.declared.bringing)
    assert chosen.price == seen.assessment.quote.total
    for step in STEPS:
        customer.go_to(step)
        assert customer.step == step
        bar = sums("".join(customer.page.one(class_="bar-now").itertext()))
        assert f"Price {say.total}" in bar, step
        assert say.limit in bar, step
        assert f"Ready {say.expected_day}" in bar, step
        assert say.latest in bar, step
    check_sums(customer.page, seen)
    assert say.whole in sums(customer.page.text)
    assert say.day in sums(customer.page.text)


def check_sums(page: Page, seen: DraftView) -> None:
    """What stands beside the sets and what stands apart from them add up to the price."""
    heads = page.all("b", class_="back-sum")
    if len(seen.sets) == 1:
        assert not heads
        return
    rows = page.all(class_="back-order")[0].iter("div")
    apart = [row for row in rows if words(row).startswith("For the whole order")]
    told = [*heads, *(one for row in apart for one in row.iter("b"))]
    assert sum(minor(words(one)) for one in told) == seen.assessment.quote.total.minor


def minor(text: str) -> int:
    """Return a sum as it is told, in pence."""
    pounds = Decimal(text.replace("£", "").replace(",", "").replace("−", "-"))
    return int(pounds * 100)


def check_page(client, path: str, say: Words, *, dated: bool = True) -> None:
    text = sums(page_of(client.get(path)).text)
    assert say.total in text, path
    assert say.limit in text, path
    assert not dated or say.day in text, path


@pytest.mark.parametrize("seed", range(12))
def test_the_sum_and_the_date_are_the_same_wherever_they_are_told(app, client, unit, seed) -> None:
    customer = Customer(client)
    seen = a_draft(unit, customer, seed)
    price, date = price_of_quote(seen.assessment.quote), seen.promise.date
    say = words_of(app, price, date)
    check_intake(unit, customer, seen, say)

    link = customer.follow(customer.book()).request.path
    assert link.startswith("/J/"), customer.page.text
    check_page(client, link, say)
    check_page(client, f"{link}/slip", say)
    check_page(client, f"{link}/price", say, dated=False)
    with unit.read() as session:
        job = session.scalars(sa.select(Job)).one()
        letter = session.scalars(sa.select(Letter).where(Letter.kind == "booked")).one()
    assert f"Price: {say.whole}" in letter.text
    assert say.day in sums(letter.text)
    assert job.promise_at == date.promised
    counter = sign_in(app, checked_client(app), COUNTER)
    check_page(counter, f"/counter/job/{job.code}", say)
    check_page(counter, f"/counter/job/{job.code}/pay", say, dated=False)


def dearer(unit, by: str) -> None:
    body = documents.document(unit, "prices").body
    seen = documents.newest(unit, "prices")
    bands = [{**band, "price": by} for band in body["wheels"]["bands"]]
    body = {**body, "wheels": {**body["wheels"], "bands": bands}}
    documents.put_document(unit, "prices", body, expected_edition_id=seen, who=None)


def test_a_new_price_list_is_told_once_before_the_next_press(client, unit) -> None:
    customer = Customer(client).walk_to("finish")
    assert "Our price list changed" not in customer.page.text
    dearer(unit, "99.00")
    customer.send(**{"A-colour": "R9005-S", "A-gloss": "satin"})
    assert customer.step == "day"
    assert "Our price list changed on" in customer.page.text
    assert "This order was £" in customer.page.text
    customer.go_to("day")
    assert "Our price list changed" in customer.page.text  # nobody has pressed yet
    customer.send()
    assert customer.step == "you"
    assert "Our price list changed" not in customer.page.text


def test_a_new_price_list_that_changes_nothing_is_no_news(client, unit) -> None:
    customer = Customer(client).walk_to("finish")
    body = documents.document(unit, "prices").body
    seen = documents.newest(unit, "prices")
    body = {**body, "deposit": {**body["deposit"], "percent": "30"}}
    documents.put_document(unit, "prices", body, expected_edition_id=seen, who=None)
    customer.go_to("finish")
    assert "Our price list changed" not in customer.page.text


def test_a_span_is_promised_as_its_longest_case(client, unit) -> None:
    customer = Customer(client)
    seen = a_draft(unit, customer, 0)
    sets = (replace(seen.sets[0], build=WheelBuild.UNKNOWN, layers=(Layer.UNKNOWN,)),)
    known = (replace(seen.sets[0], build=WheelBuild.CAST, layers=(Layer.FACTORY_PAINT,)),)

    def with_sets(own: tuple[PartSet, ...]) -> DraftView:
        return look(
            unit,
            customer.token,
            lambda answers: replace(answers, declared=replace(answers.declared, sets=own)),
        )

    unknown, plain = with_sets(sets), with_sets(known)
    assert plain.promise.date.firm
    assert not unknown.promise.date.firm
    assert unknown.promise.expected_at.date() == plain.promise.ready_at.date()
    assert unknown.promise.ready_at - plain.promise.ready_at >= timedelta(days=8)
    assert [one.step.value for one in unknown.narrowing] == ["on-them"]
    assert unknown.assessment.quote.high > plain.assessment.quote.high
