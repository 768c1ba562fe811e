"""A customer changes the colour by the link while a part is scanned into the booth."""

from portal.orders.counter.finish_by_link import change_finish, weigh_finish
from portal.orders.production.floor import scan_part
from portal.shop.route import PartStage
from tests.factories import WHEELS, a_job_at, a_token, events, last_event_id, stages
from tests.orders.test_finish_by_link import DIGITS, RED, colours
from tests.race.crowd import Crowd

NEW = RED.colour


def test_one_wins_and_the_other_is_told(unit, database) -> None:
    job = a_job_at(unit, PartStage.BLAST, WHEELS)
    old = colours(unit, job)
    seen, read = last_event_id(unit, job), weigh_finish(unit, job.token, "A", RED).read
    once = a_token()

    def by_link(unit, together) -> str:
        together()
        change_finish(
            unit, job.token, "A", RED, read=read, digits=DIGITS,
            expected_event_id=seen, once_token=once,
        )  # fmt: skip
        return "changed"

    def by_scan(unit, together) -> str:
        together()
        moved = scan_part(unit, "101", PartStage.COAT, scan_id="one", who=None)
        return str(moved.says.values)

    def work(unit, n, together) -> str:
        return by_scan(unit, together) if n else by_link(unit, together)

    outcome = Crowd(database, 2).run(work)
    # the part stands in the booth whoever was first, and in no other colour than the customer reads
    assert PartStage.COAT in stages(unit, job)
    changed = events(unit, job, "finish")
    if "changed" in outcome.answers:
        assert (outcome.errors, len(changed)) == ([], 1)
        assert colours(unit, job) == {NEW}
        (said,) = [one for one in outcome.answers if one != "changed"]
        assert "The customer changed the finish" in said
    else:
        assert outcome.kinds() <= {"Refused", "Overtaken"}
        assert (len(outcome.errors), changed) == (1, [])
        assert colours(unit, job) == old
