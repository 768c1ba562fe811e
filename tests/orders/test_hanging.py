"""Where parts hang stands on the card at Coat; another place that was agreed replaces it."""

import pytest

from portal.craft.hanging import HangAt
from portal.orders.counter.hanging import agree_hanging
from portal.orders.counter.job_view import job_view
from portal.orders.kernel.errors import Refused, Unknown
from portal.orders.production.board_view import floor as board
from portal.shop.route import Fact, PartStage
from tests.factories import a_booked_job, a_job_at, events
from tests.readers import refusing

PLACE = "by the valve hole, face down"


def group(unit):
    (found,) = [one for column in board(unit) for one in column.groups]
    return found


def test_the_card_at_coat_tells_where_the_parts_hang(unit) -> None:
    a_job_at(unit, PartStage.COAT)
    assert group(unit).stage.tells(Fact.HANG)
    assert (group(unit).card.hang, group(unit).card.hang_agreed) == (HangAt.BOLT_HOLE, "")


def test_another_place_that_was_agreed_stands_on_the_card_and_in_the_order(unit) -> None:
    job = a_job_at(unit, PartStage.COAT)
    agree_hanging(unit, job.job_id, "A", f"  {PLACE} ", who=None)
    assert group(unit).card.hang_agreed == PLACE
    assert job_view(unit, job.code).sets[0].hang == PLACE
    assert [one.note for one in events(unit, job, "hang")] == [PLACE]
    agree_hanging(unit, job.job_id, "A", "", who=None)
    assert group(unit).card.hang_agreed == ""


def test_only_a_set_of_an_open_job_gets_another_place(unit) -> None:
    job = a_booked_job(unit)
    with pytest.raises(Unknown):
        agree_hanging(unit, job.job_id, "Z", PLACE, who=None)
    with refusing(Refused, "at most 120 characters"):
        agree_hanging(unit, job.job_id, "A", "x" * 121, who=None)


@pytest.mark.parametrize("place", ["by the bolt\x07 holes", "²¸\x97æ", "\ud800"])
def test_a_place_that_could_not_be_read_again_is_refused_and_the_job_stays_readable(unit, place):
    job = a_job_at(unit, PartStage.INSPECT)
    with refusing(Refused, "Remove the characters that can't be printed."):
        agree_hanging(unit, job.job_id, "A", place, who=None)
    assert job_view(unit, job.code).sets[0].hang == ""
    assert events(unit, job, "hang") == []
