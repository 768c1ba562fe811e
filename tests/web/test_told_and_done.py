"""What a customer is told turns up where somebody acts on it: `told_and_done` says where."""

import ast
from collections.abc import Iterator
from dataclasses import replace
from fnmatch import fnmatchcase
from pathlib import Path

import pytest
import sqlalchemy as sa

import portal
from portal.craft.answers import CautionKind
from portal.craft.checks import check
from portal.craft.declared import read_declared
from portal.craft.tables import toml_table
from portal.orders.counter.job_view import job_view
from portal.shop.assessment.assess import Assessment, assess
from portal.shop.moves import JobState
from portal.store.jobs import Job, Part
from tests.factories import a_booked_job
from tests.readers import english
from tests.web.told_and_done import (
    CAUTIONS,
    DEPOSIT,
    LINES,
    Accepted,
    AtTheDoor,
    Card,
    Check,
    On,
    Order,
    Place,
    Refused,
    ToldOnly,
)

HOUSE = Path(portal.__file__).parent
TABLE, PLACES = toml_table("cautions.toml"), toml_table("places.toml")["rule"]
KEYS = {row["key"] for row in (*TABLE["caution"], *TABLE["order"])}
KEYS |= {f"place_{row['key']}" for row in PLACES}
BOOKED = {key: row for key, row in CAUTIONS.items() if not isinstance(row[1], Refused)}
REFUSED = {key: row for key, row in CAUTIONS.items() if isinstance(row[1], Refused)}


def first_arguments(folder: str, *functions: str) -> Iterator[str]:
    """Yield the text or pattern that calls of these functions, or yielded rows, begin with."""
    for path in sorted((HOUSE / folder).glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and node.args and ast.unparse(node.func) in functions:
                yield from pattern(node.args[0])
            if isinstance(node, ast.Yield | ast.Return) and isinstance(node.value, ast.Tuple):
                yield from (text for one in node.value.elts[:1] for text in pattern(one))


def pattern(node: ast.expr) -> Iterator[str]:
    """Yield a text as it is, and one with values in it with a star for each."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.JoinedStr):
        yield "".join(part.value if isinstance(part, ast.Constant) else "*" for part in node.values)


def covered(key: str, table: dict) -> bool:
    return any(key == row or fnmatchcase(key, row) for row in table)


def told(order: Order, unit) -> Assessment:
    declared = read_declared({"sets": list(order.sets), "bringing": order.bringing, **order.more})
    with unit.read() as session:
        shop = unit.shop(session)
    shop = replace(shop, practice=replace(shop.practice, **order.practice))
    return assess(declared, shop, unit.now().date())


def keys_told(order: Assessment) -> list[str]:
    return [
        c.key for c in (*order.appraisal.cautions, *(c for s in order.sets for c in s.cautions))
    ]


def booked(unit, order: Order):
    job = a_booked_job(unit, *order.sets, bringing=order.bringing, order=dict(order.more))
    columns = {"rush": True} if order.more.get("rush") else {}
    columns |= {"deposit_minor": told(order, unit).quote.deposit.minor}
    change = sa.update(Job).where(Job.id == job.job_id).values(**columns)
    unit.write(lambda session: session.execute(change))
    return job


def stands_at(unit, job, stage) -> None:
    """Let the parts of a job stand at a station, however they would come there."""

    def work(session) -> None:
        session.execute(sa.update(Job).where(Job.id == job.job_id).values(state=JobState.IN_WORK))
        session.execute(sa.update(Part).where(Part.job_id == job.job_id).values(stage=stage))

    unit.write(work)


def page_text(hand, address: str) -> str:
    hand.go(address)
    assert hand.at.status_code == 200
    return hand.page.text


def proves(hand, unit, order: Order, place: Place, says: str) -> None:
    """Render the place for an order, and see that it says what the row claims."""
    job = booked(unit, order)
    door = f"/counter/job/{job.code}/check-in"
    match place:
        case Accepted() | AtTheDoor():
            assert says in page_text(hand, door)
            assert says in page_text(hand, f"/counter/job/{job.code}")
            if isinstance(place, AtTheDoor):
                assert any(says in note for note in notes(hand, door))
        case Card(stage, words):
            stands_at(unit, job, stage)
            assert words in page_text(hand, "/counter/floor")
        case Check(title) if order.practice:
            # another works than the demo's: the check follows, and is shown as any other
            kinds = [kind for one in told(order, unit).sets for kind in one.checks]
            assert title in {kind.title for kind in kinds if check(kind).results}
        case Check(title):
            assert title in page_text(hand, f"/counter/job/{job.code}")
            assert title in page_text(hand, f"/J/{job.token}/slip")
        case On("check-in", words):
            assert words in page_text(hand, door)
        case On(page, words):
            assert words in page_text(hand, f"/J/{job.token}/{page}")
        case ToldOnly(why):
            assert why


def notes(hand, address: str) -> list[str]:
    hand.go(address)
    return [" ".join(one.itertext()) for one in hand.page.all(class_="note")]


# --- nothing is forgotten ---


def test_every_caution_of_the_table_has_a_row() -> None:
    assert {key for key in KEYS if not covered(key, CAUTIONS)} == set()


def test_every_caution_that_is_computed_has_a_row() -> None:
    found = set(first_arguments("craft", "Caution")) - {"place_*"}  # of the table of places
    assert {"hanging_*", "brake_gap_*"} <= found
    assert {key for key in found if not covered(key, CAUTIONS)} == set()


def test_every_line_of_a_price_has_a_row() -> None:
    found = set(first_arguments("shop/pricing", "line"))
    assert {"off.*", "transport", "rush"} <= found
    assert {key for key in found if not covered(key, LINES)} == set()


def test_no_row_is_of_a_thing_that_nobody_is_told_any_more() -> None:
    computed = set(first_arguments("craft", "Caution"))
    lines = set(first_arguments("shop/pricing", "line"))
    assert {key for key in CAUTIONS if key not in KEYS | computed} == set()
    assert {key for key in LINES if key not in lines} == set()


# --- and each row is true ---


@pytest.mark.parametrize("key", REFUSED)
def test_a_job_with_it_never_comes(unit, key: str) -> None:
    order, _place = REFUSED[key]
    assert any(fnmatchcase(one.key, key) for one in told(order, unit).refused)


@pytest.mark.parametrize("key", BOOKED)
def test_a_caution_turns_up_where_its_row_says(hand, unit, key: str) -> None:
    order, place = BOOKED[key]
    assessed = told(order, unit)
    assert any(fnmatchcase(one, key) for one in keys_told(assessed))
    assert not assessed.refused
    kinds = (CautionKind.CONFIRM, CautionKind.INSPECT, CautionKind.TELL)
    says = next(
        english(c.says) for c in assessed.appraisal.cautions_of(*kinds) if fnmatchcase(c.key, key)
    )
    proves(hand, unit, order, place, says)


@pytest.mark.parametrize("key", LINES)
def test_a_line_of_the_price_turns_up_where_its_row_says(hand, unit, key: str) -> None:
    order, place = LINES[key]
    if not isinstance(place, ToldOnly):
        lines = [one.key for one in told(order, unit).quote.lines]
        own = [one.partition(".")[2] if one[1:2] == "." else one for one in lines]
        assert any(fnmatchcase(one, key) for one in own), own
    proves(hand, unit, order, place, "")


def test_every_condition_stands_at_check_in_as_accepted(hand, unit) -> None:
    confirmed = [
        (key, order)
        for key, (order, _place) in BOOKED.items()
        if any(
            one.kind is CautionKind.CONFIRM and fnmatchcase(one.key, key)
            for one in told(order, unit).to_confirm
        )
    ]
    assert len(confirmed) > 15
    for key, order in confirmed:
        job = booked(unit, order)
        assert any(fnmatchcase(one.key, key) for one in job_view(unit, job.code).accepted)


def test_the_deposit_is_asked_for_at_the_door(hand, unit) -> None:
    order, place = DEPOSIT
    assert told(order, unit).quote.deposit.minor
    proves(hand, unit, order, place, "")


def test_a_row_without_a_place_is_caught() -> None:
    assert not covered("a_new_caution", CAUTIONS)
    assert covered("off.tyre", LINES)
