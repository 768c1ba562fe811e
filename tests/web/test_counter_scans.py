"""One page's form sent twice, as the browser's Back brings it: another tag is another scan."""

from portal.shop.route import PartStage
from tests.factories import a_booked_job, a_job_in_work, events, stages


def test_a_page_from_the_history_gives_the_next_tag_to_the_next_part(hand, unit) -> None:
    job = a_booked_job(unit)
    page = hand.scan(job.code)
    hand.scan("101")
    hand.at = page
    hand.scan("102")
    assert hand.at.status_code == 200
    assert hand.told == ["Tag 102 is on part 2. Still to tag: 2."]


def test_a_page_from_the_history_moves_another_part_on_the_floor(hand, unit) -> None:
    job = a_job_in_work(unit)
    page = hand.scan("AT-BLAST")
    for tag in ("101", "102", "102"):
        hand.at = page
        hand.scan(tag)
    assert stages(unit, job) == [PartStage.BLAST] * 2 + [PartStage.PREP] * 2
    assert len([one for one in events(unit, job, "move") if one.scan_id]) == 2
