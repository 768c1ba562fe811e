"""What the trade says of drawn sets and of every kind of part, line by line, in
`trade_figures.txt`: what must never be done, where parts hang, how they are measured, washed and
put back. What it ought to say is held by the tests of each rule. `tests.shop.figures` draws the
file anew.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest

from portal.craft.answers import CautionKind
from portal.craft.appraise import appraise_set, heat_of
from portal.craft.bakes import Bake, Schedule, fit
from portal.craft.care import advice, care_steps
from portal.craft.check_kinds import CheckKind
from portal.craft.checks import as_found, check, on_part
from portal.craft.corners import counts, rows_of, to_mark
from portal.craft.finishes import (
    can_be_made,
    finishes_from_samples,
    gloss_ruled_out,
    gloss_tolerance_gu,
    glosses_for,
    powders_for,
    systems_for,
)
from portal.craft.geometry import usual_longest_mm, usual_size
from portal.craft.hanging import hang_at, hanging_mark, mark_seen
from portal.craft.heat import hardness_loss, minutes_at_200, warm_up_min, warming_at_200
from portal.craft.heat_sum import Baked, heat_sum
from portal.craft.inspection import (
    cut_spacing_mm,
    gloss,
    no_cross_cut,
    quality_label,
    spot_rule,
    spots_needed,
)
from portal.craft.messages import CraftError
from portal.craft.never import forbids, nevers, told_at
from portal.craft.part_names import name_of, rim_size
from portal.craft.parts import Bringing, Damage, Gloss, PartKind, Rim, System, Usage
from portal.craft.powder import boxes, coverage_m2_per_kg, film_um, mass_kg, need
from portal.craft.removals import items_for, removals
from portal.craft.safe_errands import safe_errands
from portal.craft.suits import unsuited
from tests.craft.shelf import SHELF, part
from tests.readers import english
from tests.shop.figures import kept
from tests.shop.test_appraisal_figures import PRACTICE, an_order, plain

FILE = Path(__file__).with_name("trade_figures.txt")


def sets() -> Iterator[str]:
    for seed in range(40):
        order = an_order(seed)
        yield f"{seed} mark {plain(to_mark(order))} errands {plain(safe_errands(order))}"
        for one in order.sets:
            yield from _of_set(one, order.bringing)


def _of_set(one, bringing) -> Iterator[str]:
    for before in (False, True):
        told = nevers(one, before_1980=before)
        yield f"never {plain(told)} {len(forbids(one, before_1980=before))}"
    yield f"at strip {plain(told_at('strip', told))} at blast {plain(told_at('blast', told))}"
    yield f"corners {counts(one, bringing):d} name {english(name_of(one).of_set)}"
    yield f"systems {plain(systems_for(one))} made {can_be_made(one, SHELF):d}"
    yield f"heat {plain(heat_of(one, PRACTICE)) if one.finish and can_be_made(one, SHELF) else ''}"
    yield f"advice {[plain(advice(usage, one)) for usage in (None, *Usage)]}"
    for removal in removals(one, bringing):
        yield f"off {removal.item.value} {removal.by(one).value}"
    yield f"found {plain(as_found(one, {'layers': 'powder'}))}"


def kinds() -> Iterator[str]:
    for kind in PartKind:
        yield f"{kind.value} {plain((hang_at(kind), hanging_mark(kind)))} {mark_seen(kind):d}"
        yield f"  {plain(usual_size(kind))} {usual_longest_mm(kind)} {plain(items_for(kind))}"
        for country in ("", "powder"):
            yield f"  {name_of(part(kind, what=country)).of_set.msgid}"
    for test in CheckKind:
        found = check(test)
        yield f"{test.value} {found.is_gate:d} {plain(found)}"
        yield f"  {[plain(found.result(key)) for key in ('yes', 'no', 'passed', 'found', 'x')]}"
    for damage in Damage:
        yield f"{damage.value} {plain(on_part([*CheckKind], [damage]))}"
    for usage in (None, *Usage):
        yield f"{usage} {plain(care_steps(usage))}"
    for count in range(8):
        yield f"{count} {plain(rows_of(count))}"


def powders() -> Iterator[str]:
    for powder in SHELF.values():
        yield f"{powder.code} {plain(unsuited(powder, PRACTICE))}"
    for system, level in product(System, Gloss):
        fits = " ".join(one.code for one in powders_for(system, level, SHELF))
        told = (glosses_for(system, SHELF), gloss_ruled_out(system, level, SHELF))
        yield f"{system.value} {level.value} {fits} {plain(told)}"
    for seed in range(30):
        for one in an_order(seed).sets:
            if one.finish:
                open_ = replace(one.finish, decide_from_sample=True)
                yield f"{seed} {plain(finishes_from_samples(open_, SHELF))}"
            try:
                answer = appraise_set(one, Bringing.COMPLETE, PRACTICE)
            except CraftError as refused:
                yield f"{refused.key} {plain(refused.sentence)}"
                continue
            coats = answer.coats.coats if answer.coats else ()
            yield from (f"  {plain(need(coat, 3.1, 0.5))}" for coat in coats)
            yield f"  {plain(tuple(one.key for one in answer.refused))} {answer.refitted:d}"


def bakes() -> Iterator[str]:
    for celsius, minutes in product((150, 199, 200, 201, 240), (0, 5, 20, 180)):
        same = minutes_at_200(celsius, minutes)
        yield f"{celsius} {minutes} {same:.5g} {hardness_loss(same):.5g}"
    for kg in (0, 4.9, 5, 7, 10, 12.5, 20, 24, 40, 200):
        warm = warm_up_min(kg)
        yield f"{kg} kg {warm} {warming_at_200(190, warm):.5g}"
        bakes = [Baked(180, 20), Baked(230, 15.5), Baked(200, -1)]
        yield f"  {heat_sum(bakes, kg):.5g} {heat_sum([], kg)}"
    for planned in (Schedule(Bake.CURE, 180, 15), Schedule(Bake.GEL, 180, 7.5, 15)):
        for c, time, apart in product((170, 180, 185, 200, 210), (7.5, 15, 24, 60), (0, 5)):
            cured = f"{planned.cured(c, time):.4g}"
            yield f"{c} {time} {apart} {fit(planned, c, time, apart_c=apart).name} {cured}"
    yield f"{Schedule(Bake.CURE, 180, 14.5).whole_min}"


def measured() -> Iterator[str]:
    for area in (0.1, 1, 9.9, 10, 20, 30, 31, 100, 101, 250):
        yield f"{area} m2 {spots_needed(area)}"
    for um in (59, 60, 61, 120, 121, 250):
        cuts = [no_cross_cut(um, textured=textured) is not None for textured in (False, True)]
        yield f"{um} {cut_spacing_mm(um)} {cuts}"
    for values in ([60] * 5, [59.9] * 5, [48, 70, 70, 70, 70], [90.1] * 5, [60, 61, 62], [400] * 3):
        for rule in (quality_label, spot_rule):
            yield f"{rule.__name__} {values} {plain(rule(values, 60.0, 90.0))}"


def reckoned() -> Iterator[str]:
    for reading in (75, 79.9, 80, 85, 90, 90.1):
        yield f"gloss {reading} {plain(gloss(reading, 80, 90))}"
    for units in (0, 5, 10, 29, 30, 49, 50, 70, 71, 85, 100):
        yield f"{units} GU {gloss_tolerance_gu(units)}"
    for kg, box in ((0, 20), (0.1, 20), (20, 20), (20.1, 20), (60.5, 20)):
        yield f"{kg} {box} {boxes(kg, box)}"
    yield f"{coverage_m2_per_kg(1.5, 60):.5g} {mass_kg(3, 70, 1.4, 0.6):.5g}"
    yield f"{film_um(1.2, 3, 1.4, 0.6):.5g}"
    for width, diameter in ((8, 18), (8.25, 22.5), (7.75, 20), (8.1, 18), (2.15, 18)):
        yield rim_size(Rim(diameter, width))


SCENES: dict[str, Callable[[], Iterator[str]]] = {
    one.__name__: one for one in (sets, kinds, powders, bakes, measured, reckoned)
}


@pytest.mark.parametrize("name", SCENES)
def test_what_the_trade_says(name: str) -> None:
    assert list(SCENES[name]()) == kept(FILE)[name]


def test_no_drawn_order_is_refused_without_a_reason() -> None:
    for seed in range(10):
        for one in an_order(seed).sets:
            answer = appraise_set(one, None, PRACTICE)
            assert all(c.kind is CautionKind.REFUSE and c.says for c in answer.refused)
