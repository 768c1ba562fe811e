"""The small nouns of a shop: each property at its limits, by hand."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from portal.craft.open_answers import Slow
from portal.shop.bare_metal import BareMetal, too_late
from portal.shop.faults import HOW, Fault, coats_kept, faults_for, redo_from
from portal.shop.invoicing.takings import Taking, TillCount, cash_in, sums_of
from portal.shop.ledger import Account, Balance, Entry, EntryKind
from portal.shop.money import Money
from portal.shop.moves import JOB_MOVES, JobState
from portal.shop.pricing.statements import (
    DateStatement,
    PriceStatement,
    date_of_job,
    price_of_job,
)
from portal.shop.redo import Redo
from portal.shop.roles import Role
from portal.shop.route import PartPlan, PartStage
from portal.shop.states import PaymentMethod
from portal.shop.verbs import EventVerb
from tests.readers import english

NOW = datetime(2026, 6, 1, 8, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)


def pounds(minor: int) -> Money:
    return Money(minor, "GBP")


# -- bare metal ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("waited", "hours", "near", "over"),
    [
        (timedelta(0), 0, False, False),
        (6 * HOUR - timedelta(seconds=1), 5, False, False),
        (6 * HOUR, 6, True, False),  # a quarter of the time is left
        (8 * HOUR, 8, True, False),
        (8 * HOUR + timedelta(seconds=1), 8, False, True),
    ],
)
def test_how_long_bare_metal_may_wait(waited, hours: int, near: bool, over: bool) -> None:
    bare = BareMetal(NOW, NOW + waited, 8 * HOUR)
    assert (bare.hours, bare.near, bare.over) == (hours, near, over)
    assert bare.until == NOW + 8 * HOUR


def test_nothing_is_known_of_how_long_an_unknown_metal_may_wait() -> None:
    bare = BareMetal(NOW, NOW + 99 * HOUR, None)
    assert (bare.until, bare.near, bare.over) == (None, False, False)


def test_a_part_that_waited_too_long_is_named_with_the_hours() -> None:
    assert english(too_late(3, BareMetal(NOW, NOW + 9 * HOUR, 8 * HOUR))) == (
        "Part 3 was blasted more than 8 hours ago: too long for bare metal. Send it back to blast."
    )


# -- the till ---------------------------------------------------------------------------------

CARD, CASH, TRANSFER = PaymentMethod.CARD, PaymentMethod.CASH, PaymentMethod.TRANSFER
TAKINGS = [
    Taking(1, date(2026, 6, 1), CASH, Decimal(7), 1070),
    Taking(2, date(2026, 6, 1), CASH, Decimal(20), 12000),
    Taking(3, date(2026, 6, 1), CARD, Decimal(20), 6000),
    Taking(4, date(2026, 6, 1), CASH, Decimal(20), -600),
    Taking(5, date(2026, 6, 1), TRANSFER, Decimal(0), 500),
]


def test_a_till_is_summed_by_way_and_rate() -> None:
    found = [(one.way, one.percent, one.count, one.amount, one.tax) for one in sums_of(TAKINGS)]
    assert found == [
        (CARD, 20, 1, 6000, 1000),
        (CASH, 20, 2, 11400, 1900),
        (CASH, 7, 1, 1070, 70),
        (TRANSFER, 0, 1, 500, 0),
    ]
    assert cash_in(TAKINGS) == 1070 + 12000 - 600
    assert (sums_of([]), cash_in([])) == ((), 0)


def test_a_till_that_was_counted() -> None:
    count = TillCount(opening=5000, taken=12470, counted=17400, banked=12000)
    assert (count.expected, count.difference, count.left) == (17470, -70, 5400)


# -- the account ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("total", "owed", "deposit", "paid", "to_pay", "credit", "due"),
    [
        (400, 400, 100, 0, 400, 0, 100),
        (400, 340, 100, 60, 340, 0, 40),
        (400, 300, 100, 100, 300, 0, 0),
        (400, 0, 100, 400, 0, 0, 0),
        (400, -50, 100, 450, 0, 50, 0),
        (80, 80, 100, 0, 80, 0, 80),  # no deposit above the price
        (400, 450, 100, -50, 450, 0, 100),  # what was given back makes no deposit larger
        (0, 0, 100, 0, 0, 0, 0),
    ],
)
def test_what_an_account_comes_to(total, owed, deposit, paid, to_pay, credit, due) -> None:
    found = Balance(pounds(total), pounds(owed), pounds(deposit))
    assert (found.paid, found.to_pay, found.credit, found.deposit_due) == tuple(
        map(pounds, (paid, to_pay, credit, due))
    )


def test_an_account_hands_on_what_its_balance_says() -> None:
    entries = (
        Entry(1, EntryKind.PRICE, pounds(400), NOW),
        Entry(2, EntryKind.PAYMENT, pounds(-60), NOW),
        Entry(3, EntryKind.DISCOUNT, pounds(-10), NOW),
        Entry(4, EntryKind.DISCOUNT, pounds(10), NOW, reverses_id=3),
        Entry(5, EntryKind.GOODWILL, pounds(-5), NOW),
    )
    account = Account("GBP", pounds(100), entries)
    assert account.balance == Balance(pounds(395), pounds(335), pounds(100))
    assert (account.to_pay, account.credit, account.deposit_due) == (
        pounds(335), pounds(0), pounds(40),
    )  # fmt: skip
    assert account.reversed_ids == frozenset({3})
    assert [one.id for one in account.standing] == [2, 5]
    assert [one.id for one in account.open_reductions] == [5]
    assert [account.can_reverse(one) for one in entries] == [False, True, False, False, True]
    assert account.entry(4) is entries[3]
    assert account.entry(6) is None


@pytest.mark.parametrize("kind", EntryKind)
def test_money_changes_hands_with_payments_and_refunds_alone(kind: EntryKind) -> None:
    assert kind.is_money is (kind in (EntryKind.PAYMENT, EntryKind.REFUND))


# -- states of a job --------------------------------------------------------------------------

S = JobState
ASKED = {
    "is_expected": {S.BOOKED, S.NOT_BROUGHT},
    "is_in_house": {S.RECEIVED, S.WAITING, S.IN_WORK},
    "is_open": {S.BOOKED, S.NOT_BROUGHT, S.RECEIVED, S.WAITING, S.IN_WORK},
    "is_done": {S.READY, S.HANDED_BACK},
    "is_off": {S.CALLED_OFF, S.TURNED_AWAY, S.NOT_FETCHED},
}


@pytest.mark.parametrize("question", ASKED)
def test_what_a_state_says_of_a_job(question: str) -> None:
    assert {one for one in JobState if getattr(one, question)} == ASKED[question]


@pytest.mark.parametrize("verb", JOB_MOVES)
def test_a_verb_starts_where_its_row_says(verb: EventVerb) -> None:
    assert {one for one in JobState if one.allows(verb.value)} == JOB_MOVES[verb][0]


def test_each_role_includes_those_before_it() -> None:
    allowed = {(one, needed) for one in Role for needed in Role if one.covers(needed)}
    assert allowed == {
        (Role.FLOOR, Role.FLOOR),
        (Role.COUNTER, Role.FLOOR),
        (Role.COUNTER, Role.COUNTER),
        *((Role.OFFICE, one) for one in Role),
    }


# -- price and date in one form ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("most", "firm", "says", "limit"),
    [
        (10000, True, "£100", None),
        (9000, True, "£100", None),
        (
            10001,
            False,
            "£100 expected. Never above £100.01 without your yes.",
            "Never above £100.01 without your yes",
        ),
    ],
)
def test_a_price_and_its_limit(most: int, firm: bool, says: str, limit: str | None) -> None:
    found = PriceStatement(pounds(10000), pounds(most))
    assert (found.firm, english(found.sentence)) == (firm, says)
    assert (found.limit and english(found.limit)) == limit


@pytest.mark.parametrize(
    ("state", "left_open", "most"),
    [
        (S.BOOKED, 500, 10500),
        (S.IN_WORK, 1, 10001),
        (S.IN_WORK, 0, 10000),
        (S.IN_WORK, -5, 10000),
        (S.READY, 500, 10000),
        (S.CALLED_OFF, 500, 10000),
    ],
)
def test_what_a_job_may_still_cost(state: JobState, left_open: int, most: int) -> None:
    found = price_of_job(pounds(10000), left_open, state)
    assert found == PriceStatement(pounds(10000), pounds(most))


LATER = NOW + 72 * HOUR
LIMITS = {
    Slow.LAYERS: "up to {} if the old finish is hard to take off",
    Slow.CHROME: "up to {} if they turn out to be chrome-plated",
    Slow.COLOUR: "up to {} if we have to order the colour you choose",
    Slow.SIZE: "up to {} if they are large",
    Slow.SEVERAL: "{} at the latest",
}


@pytest.mark.parametrize("unless", Slow)
def test_the_later_day_has_its_reason(unless: Slow) -> None:
    found = DateStatement(NOW, LATER, unless)
    early, late = (english(DateStatement(one, one).sentence) for one in (NOW, LATER))
    assert not found.firm
    assert found.limit is not None
    assert english(found.limit) == LIMITS[unless].format(late)
    assert english(found.sentence) == f"{early}; {LIMITS[unless].format(late)}"


@pytest.mark.parametrize(
    ("expected", "unless"), [(NOW, None), (LATER, Slow.SIZE), (LATER + HOUR, Slow.SIZE)]
)
def test_one_day_is_firm(expected: datetime, unless: Slow | None) -> None:
    found = DateStatement(expected, LATER, unless)
    assert (found.firm, found.limit) == (True, None)
    assert english(found.sentence) == english(DateStatement(LATER, LATER).sentence)


@pytest.mark.parametrize("state", JobState)
def test_the_date_of_a_job_spans_until_the_work_begins(state: JobState) -> None:
    spans = state in (S.BOOKED, S.NOT_BROUGHT, S.RECEIVED)
    found = date_of_job(LATER, NOW, "size", state)
    assert found == (DateStatement(NOW, LATER, Slow.SIZE) if spans else DateStatement(LATER, LATER))
    assert date_of_job(LATER, None, "size", state) == DateStatement(LATER, LATER)
    assert date_of_job(LATER, NOW, None, state) == DateStatement(LATER, LATER)
    assert date_of_job(LATER, NOW, "", state) == DateStatement(LATER, LATER)


PLAN = PartPlan(strip=True, coats=2, refit=True)

# -- faults -----------------------------------------------------------------------------------


def test_a_fault_is_put_right_where_its_rework_begins() -> None:
    plan = PLAN
    assert {one.redo for one in Fault} == set(Redo) == set(HOW)
    for one in Fault:
        assert one.target(plan) is redo_from(one.redo, plan)
        assert plan.asks_for(one.target(plan))
    assert Fault.RUN.said("") is not None
    assert english(Fault.RUN.said("")) == "Run or sag"
    assert english(Fault.RUN.said("left spoke")) == "Run or sag: left spoke"
    assert (Fault("run").title, Fault.RUN.redo, Fault.RUN.value) == (
        "Run or sag", Redo.RUB_DOWN, "run",
    )  # fmt: skip


@pytest.mark.parametrize("stage", PartStage)
def test_a_part_goes_back_to_what_lies_before_it(stage: PartStage) -> None:
    plan = PLAN
    found = faults_for(stage, plan)
    if not stage.may_be_reworked:
        assert found == ()
    else:
        assert found == tuple(one for one in Fault if one.target(plan).is_before(stage))
        assert found


@pytest.mark.parametrize(
    ("stage", "done", "target", "kept"),
    [
        (PartStage.CURE, 1, PartStage.COAT, 1),
        (PartStage.CURE, 0, PartStage.COAT, 0),
        (PartStage.INSPECT, 2, PartStage.COAT, 1),
        (PartStage.INSPECT, 1, PartStage.CURE, 0),
        (PartStage.INSPECT, 0, PartStage.COAT, 0),
        (PartStage.INSPECT, 2, PartStage.BLAST, 0),
        (PartStage.CURE, 2, PartStage.STRIP, 0),
    ],
)
def test_how_many_coats_are_kept(stage, done: int, target, kept: int) -> None:
    assert coats_kept(stage, done, target) == kept
