"""The shop's own numbered tags: added, worn, retired."""

import pytest

from portal.orders.counter import check_in, tags
from portal.orders.kernel.errors import Refused, Unknown
from tests.factories import a_booked_job, a_job_in_work
from tests.readers import refusing


def test_tags_are_listed_as_free_worn_with_their_place_and_retired(unit) -> None:
    job = a_job_in_work(unit)
    tags.retire_tag(unit, "199")
    page = tags.tags(unit)
    assert [(one.number, one.code, one.part) for one in page.worn] == [
        (str(100 + n), job.code, n) for n in range(1, 5)
    ]
    assert "105" in page.free
    assert "101" not in page.free
    assert page.retired == ("199",)


def test_a_run_of_new_tags_is_added_once(unit) -> None:
    assert tags.add_tags(unit, "1001", "1010") == 10
    assert tags.add_tags(unit, "T-1005", "1012") == 2
    job = a_booked_job(unit)
    assert check_in.give_tag(unit, job.job_id, "1012", who=None).tag == "1012"


def test_a_retired_tag_is_given_to_nobody_until_it_is_added_again(unit) -> None:
    tags.retire_tag(unit, "150")
    job = a_booked_job(unit)
    with refusing(Refused, "is out of use"):
        check_in.give_tag(unit, job.job_id, "150", who=None)
    assert tags.add_tags(unit, "150", "") == 1
    check_in.give_tag(unit, job.job_id, "150", who=None)


def test_a_tag_in_use_is_not_retired(unit) -> None:
    a_job_in_work(unit)
    with refusing(Refused, "is in use"):
        tags.retire_tag(unit, "101")


def test_a_tag_that_is_none_of_ours_is_not_retired(unit) -> None:
    with pytest.raises(Unknown):
        tags.retire_tag(unit, "99999")


@pytest.mark.parametrize(
    ("first", "last", "key"),
    [("", "", "first"), ("abc", "", "first"), ("20", "10", "last"), ("1", "9999", "last")],
)
def test_a_wrong_range_is_refused_beside_its_field(unit, first, last, key) -> None:
    with pytest.raises(Refused) as caught:
        tags.add_tags(unit, first, last)
    assert caught.value.key == key
