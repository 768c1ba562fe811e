"""One damaged wheel of four: which part it is, what its card says, what arrives differently."""

from dataclasses import replace

import pytest

from portal.craft.damaged import counted, how_many
from portal.craft.declared import read_declared
from portal.craft.parts import Damage, Layer
from portal.orders.counter import findings
from portal.orders.counter.finding_answers import answer_finding
from portal.orders.counter.finding_impact import weigh
from portal.orders.counter.job_view import job_view
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.work_card import CARD, read_card
from portal.orders.production.board_view import floor
from portal.shop.pricing.differences import Difference, DifferenceKind
from portal.store.tables import Job
from tests.factories import WHEELS, a_booked_job, a_job_in_work, a_token, last_event_id
from tests.readers import english

ONE_KERBED = WHEELS | {"damage": ["kerb_rash"], "damaged": {"kerb_rash": 1}}


@pytest.fixture
def job(unit):
    return a_booked_job(unit, ONE_KERBED)


def own(unit, job):
    with unit.read() as session:
        return read_declared(session.get(Job, job.job_id).declared).sets[0]


def sets(unit, job):
    with unit.read() as session:
        return read_declared(session.get(Job, job.job_id).declared).sets


def accept(unit, job, found: Difference) -> None:
    finding = findings.raise_finding(
        unit,
        job.job_id,
        found,
        expected_event_id=last_event_id(unit, job),
        once_token=a_token(),
        who=None,
    )
    answer_finding(unit, job.job_id, finding, accepted=True, how="counter", who=None)


def cards(unit, job) -> list[set[Damage]]:
    shown = job_view(unit, job.code)
    return [set(shown.damage_of(part)) for part in shown.parts]


def test_the_first_parts_card_carries_the_damage(unit, job) -> None:
    assert cards(unit, job) == [{Damage.KERB_RASH}, set(), set(), set()]


def test_a_card_from_before_says_what_its_set_says() -> None:
    assert read_card({}).damage is None
    old = {"colour": "", "hex": "", "coats": [], "masks": [], "route": []}
    old |= {"film_um": [0, 0], "gloss_gu": [0, 0], "pre_bake": None}
    assert read_card({CARD: old}).damage is None


def test_the_floor_names_the_damaged_tag(unit) -> None:
    a_job_in_work(unit, ONE_KERBED)
    (group,) = [group for column in floor(unit) for group in column.groups]
    assert [part.damage for part in group.parts] == [(Damage.KERB_RASH,), (), (), ()]


def test_the_same_damage_on_another_part_is_a_difference(unit, job) -> None:
    other = counted(replace(own(unit, job), count=1), {Damage.KERB_RASH: 1})
    weighed = weigh(unit, job.job_id, Difference("A", (3,), other))
    assert weighed.kind is DifferenceKind.DAMAGE
    assert weighed.amount_minor > 0
    assert english(weighed.says[0]) == (
        "We found kerb damage on one wheel that you didn't mention (number 3)."
    )


def test_the_damaged_part_as_declared_is_none(unit, job) -> None:
    same = counted(replace(own(unit, job), count=1), {Damage.KERB_RASH: 1})
    with pytest.raises(Refused):
        weigh(unit, job.job_id, Difference("A", (1,), same))


def test_a_damage_that_is_not_there_comes_off_the_price(unit, job) -> None:
    sound = counted(replace(own(unit, job), count=1), {})
    weighed = weigh(unit, job.job_id, Difference("A", (1,), sound))
    assert weighed.amount_minor < 0


def test_what_is_left_of_the_set_keeps_its_own_damage(unit, job) -> None:
    painted = replace(own(unit, job), count=1, damage=(), damaged={}, layers=(Layer.POWDER,))
    accept(unit, job, Difference("A", (3,), painted))
    first, second = sets(unit, job)
    assert (first.count, how_many(first, Damage.KERB_RASH)) == (3, 1)
    assert (second.count, how_many(second, Damage.KERB_RASH)) == (1, 0)
    assert cards(unit, job) == [{Damage.KERB_RASH}, set(), set(), set()]


def test_where_the_damaged_part_leaves_the_rest_is_sound(unit, job) -> None:
    accept(unit, job, Difference("A", (1,), replace(own(unit, job), count=1), missing=True))
    (rest,) = sets(unit, job)
    assert (rest.count, rest.damage) == (3, ())
    assert cards(unit, job)[1:] == [set(), set(), set()]
