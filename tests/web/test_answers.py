"""The two answers to a finding say what each does: to the parts, and to the price."""

from dataclasses import replace

import pytest

from portal.craft.declared import read_declared
from portal.craft.parts import Damage, Item, Layer
from portal.orders.counter import findings
from portal.orders.customer.status_view import status
from portal.shop.pricing.differences import Difference
from portal.store.tables import Job
from tests.factories import a_booked_job, a_token, last_event_id
from tests.page import page_of


def raised(unit, job, *numbers: int, missing: bool = False, **differs: object) -> None:
    with unit.read() as session:
        own = read_declared(session.get(Job, job.job_id).declared).sets[0]
    real = replace(own, count=len(numbers), **differs)
    findings.raise_finding(
        unit,
        job.job_id,
        Difference(own.key, numbers, real, missing=missing),
        expected_event_id=last_event_id(unit, job),
        once_token=a_token(),
        who=None,
    )


def answers(client, job) -> list[str]:
    page = page_of(client.get(f"/J/{job.token}"))
    told = [" ".join("".join(one.itertext()).split()) for one in page.all("button")]
    end = told.index("Do nothing yet, call me")
    return told[end - 1 : end + 1]


def change(unit, job) -> str:
    return f"£{status(unit, job.token).question.change.major:.2f}"


def test_a_cracked_wheel_leaves_the_others_to_coat(client, unit):
    job = a_booked_job(unit)
    raised(unit, job, 2, damage=(Damage.CRACK,))
    assert answers(client, job)[0] == f"Coat the other 3 parts: {change(unit, job)} less"


@pytest.mark.parametrize(
    ("numbers", "told"),
    [((4,), "Coat the other 3 parts: {} less"), ((1, 2, 4), "Coat the other part: {} less")],
)
def test_what_was_not_brought_is_left_out(client, unit, numbers, told):
    job = a_booked_job(unit)
    raised(unit, job, *numbers, missing=True)
    assert answers(client, job)[0] == told.format(change(unit, job))


def test_with_no_part_left_the_answer_ends_the_order(client, unit):
    job = a_booked_job(unit)
    raised(unit, job, 1, 2, 3, 4, damage=(Damage.CRACK,))
    assert answers(client, job)[0] == "End the order: no part is left to coat"


def test_more_work_says_what_it_costs_and_less_what_it_saves(client, unit):
    job = a_booked_job(unit)
    raised(unit, job, 1, 2, 3, 4, layers=(Layer.FACTORY_PAINT,))
    assert answers(client, job)[0] == f"Go ahead: {change(unit, job)} more"
    saved = a_booked_job(unit, name="Sam Sample")
    raised(unit, saved, 1, 2, 3, 4, fitted=(Item.CENTRE_CAP, Item.BADGES))
    assert answers(client, saved)[0].startswith("Go ahead: ")


def test_each_damage_and_each_thing_has_a_sentence_of_its_own(client, unit):
    job = a_booked_job(unit)
    raised(unit, job, 1, damage=(Damage.KERB_RASH, Damage.BEND), fitted=(Item.TYRE,))
    text = page_of(client.get(f"/J/{job.token}")).text
    for sentence in (
        "We found kerb damage on one wheel that you didn't mention (number 1).",
        "We found a bend or dent on one wheel that you didn't mention (number 1).",
        "One wheel has something fitted that you didn't mention (number 1): Tyre.",
        "One wheel came without something that your order says is fitted (number 1): Centre cap.",
    ):
        assert sentence in text
