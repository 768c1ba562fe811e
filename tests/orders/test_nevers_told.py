"""What must never be done to a part is told where somebody could do it."""

import sqlalchemy as sa

from portal.craft.check_kinds import CheckKind
from portal.craft.never import Never
from portal.orders.counter.checks import record_check
from portal.orders.kernel.work_card import CARD, nevers_at, read_card
from portal.orders.production import floor, strip_runs
from portal.orders.production.board_view import floor as board
from portal.orders.production.manifest_view import manifest
from portal.shop.route import BARED, OUTSIDE, PartStage
from portal.store.jobs import Part
from tests.factories import PAINTED, a_job_at, a_job_in_work, a_token, bring_to
from tests.readers import english

CALIPERS = {
    "key": "A",
    "kind": "caliper",
    "count": 2,
    "metal": "cast_aluminium",
    "layers": ["liquid_paint"],
    "finish": {"system": "single", "colour": "9005S", "gloss": "satin"},
}


def group_at(unit, stage):
    (group,) = [one for column in board(unit) for one in column.groups if one.stage is stage]
    return group


def looked(unit, job, kind: CheckKind, result: str, count: int) -> None:
    record_check(
        unit, job.job_id, kind, result, job.part_ids[:count], once_token=a_token(), who=None
    )


def forget_nevers(unit) -> None:
    """Make every card one of an older release, which knew of none."""

    def work(session):
        for part in session.scalars(sa.select(Part)):
            card = {name: value for name, value in part.work[CARD].items() if name != "nevers"}
            part.work = {**part.work, CARD: card}

    unit.write(work)


def test_a_scan_to_strip_and_to_blast_tells_what_never_to_do(unit) -> None:
    job = a_job_in_work(unit, PAINTED)
    bring_to(unit, job, PartStage.PREP)
    away = floor.scan_part(unit, "101", OUTSIDE, scan_id=None, who=None)
    assert english(away.says).endswith(
        "Prep → Strip. Never: Burn-off oven, Caustic (strong alkali)."
    )
    here = floor.scan_part(unit, "101", BARED, scan_id=None, who=None)
    assert english(here.says).endswith("Strip → Blast. Never: Steel grit.")


def test_the_card_at_each_station_tells_its_own(unit) -> None:
    job = a_job_in_work(unit, PAINTED | {"damage": ["bend"], "damaged": {"bend": 1}})
    assert group_at(unit, PartStage.PREP).nevers == (Never.DRY_DUST, Never.STRAIGHTEN)
    looked(unit, job, CheckKind.BEND, "within", 1)
    bring_to(unit, job, OUTSIDE)
    assert group_at(unit, OUTSIDE).nevers == (Never.BURN_OFF, Never.CAUSTIC)
    bring_to(unit, job, BARED)
    assert group_at(unit, BARED).nevers == (Never.STEEL_GRIT, Never.STRAIGHTEN)


def test_the_oven_is_told_of_parts_whose_maker_decides(unit) -> None:
    job = a_job_in_work(unit, CALIPERS)
    looked(unit, job, CheckKind.BORES, "clean", 2)
    bring_to(unit, job, PartStage.CURE)
    assert group_at(unit, PartStage.CURE).nevers == (Never.MAKER_HEAT,)


def test_nothing_is_claimed_of_a_card_from_before(unit) -> None:
    job = a_job_in_work(unit, PAINTED)
    forget_nevers(unit)
    with unit.read() as session:
        work = session.get_one(Part, job.part_ids[0]).work
    assert read_card(work).nevers is None
    assert nevers_at(OUTSIDE, work) == ()
    moved = floor.scan_part(unit, "101", OUTSIDE, scan_id=None, who=None)
    assert english(moved.says).endswith("Prep → Strip.")


def test_the_tank_reads_it_on_the_manifest_and_who_packs_hears_it(unit) -> None:
    a_job_at(unit, OUTSIDE, PAINTED)
    day = unit.now().date()
    run = strip_runs.open_run(unit, day, day, who=None)
    added = strip_runs.gather(unit, run, "101", who=None)
    assert english(added.says) == "Added to the run. Never: Burn-off oven, Caustic (strong alkali)."
    (line,) = manifest(unit, run).parts
    assert line.nevers == (Never.BURN_OFF, Never.CAUSTIC)
    assert manifest(unit, run).old_paint == ()
