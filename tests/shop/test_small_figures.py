"""What small rules say of many cases, line by line, in `small_figures.txt`.

What they ought to say is held elsewhere, each rule by its own tests. Here nothing may move
unnoticed; `tests.shop.figures` draws the file anew.
"""

import random
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from itertools import product
from pathlib import Path

import pytest

from portal.craft.bringing import NewTyres
from portal.craft.colours import delta_e00, hex_of_lab, lab_of_hex, lab_of_ral, nearest
from portal.craft.facts import facts_of
from portal.craft.geometry import surface
from portal.craft.messages import Message
from portal.craft.part_names import set_names
from portal.craft.parts import (
    Bringing,
    Declared,
    FaceStyle,
    Item,
    PartKind,
    Remover,
    Rim,
    Usage,
    WheelBuild,
)
from portal.craft.place import Place, place_cautions, places, rules
from portal.craft.refit import guide_for, told_at_hand_back
from portal.craft.registration import Permission
from portal.craft.sources import subjects
from portal.shop.calendar.week import Week, read_week
from portal.shop.invoicing.compose import Charge, JobCharges, lines_and_taxes
from portal.shop.moves import JobState
from portal.shop.rail import Dates, PartMove, Stop, Travelled, rail
from portal.shop.route import PartPlan, PartStage, next_stage
from portal.shop.scans import film_reading, read_scan, shelf_place, tag_number
from portal.shop.scheduling.calibration import learn_pace, learn_rate
from portal.shop.scheduling.visits import Stay, Visit, timed
from portal.shop.verbs import EventVerb
from tests.craft.shelf import SHELF, part, wheels
from tests.readers import english
from tests.shop.figures import kept
from tests.shop.scan_cases import CODE
from tests.shop.test_appraisal_figures import an_order, plain

FILE = Path(__file__).with_name("small_figures.txt")
MONDAY = datetime(2026, 6, 1, 8, tzinfo=UTC)
STATIONS = [stage for stage in PartStage if stage.is_station]


def hours(moment: datetime | None) -> str:
    return "-" if moment is None else f"{(moment - MONDAY).total_seconds() / 3600:g}"


def rails() -> Iterator[str]:
    for seed in range(25):
        chance = random.Random(seed)
        parts, moves = [], []
        for number in range(1, chance.choice((2, 3))):
            one, way = _travelled(chance, number)
            parts.append(one)
            moves += way
        state = chance.choice([*JobState][:6])
        here = None if state is JobState.BOOKED else MONDAY
        found = rail(state, parts, moves, Dates(MONDAY, MONDAY, here, MONDAY, MONDAY))
        yield f"{state.value} " + " | ".join(map(_stop, found))


def _stop(one: Stop) -> str:
    note = "" if one.note is None else " *"
    return f"{english(one.title)} {one.state.value} {hours(one.at)}{note}"


def _travelled(chance: random.Random, number: int) -> tuple[Travelled, list[PartMove]]:
    plan = PartPlan(chance.random() < 0.5, chance.choice((1, 2, 3)), chance.random() < 0.5)
    stage, done, reworks, moves = PartStage.EXPECTED, 0, 0, []
    for step in range(chance.randint(0, 14)):
        at = MONDAY + timedelta(hours=step)
        after = next_stage(stage, plan, done)
        if stage is PartStage.INSPECT and chance.random() < 0.4:
            back = chance.choice((PartStage.BLAST, PartStage.COAT))
            moves.append(PartMove(number, EventVerb.REWORK, stage, back, at))
            done = max(done - 1, 0) if back is PartStage.COAT else 0
            stage, reworks = back, reworks + 1
        elif after is not None:
            moves.append(PartMove(number, EventVerb.MOVE, stage, after, at))
            if chance.random() < 0.15:
                moves.append(PartMove(number, EventVerb.UNDO, after, stage, at))
                continue
            done += stage.ends_coat
            stage = after
    return Travelled(number, stage, plan.coats, done, plan.strip, plan.refit, reworks), moves


TYPED = (
    *("", "  ", "0103", "#0103", "t-103", "T 103", "103", "123456", "12345", "#"),
    *("AT-BLAST", "at.coat", "ATßBLQST", "AT-NOWHERE", "AT-DONE", "SHELF-A3", "SHELFßB12"),
    *("shelf a", "SHELF-Y3", "SHELF-1234", CODE, CODE.lower(), f"{CODE[:4]}-{CODE[4:]}"),
    *(f"{CODE}-1", f"{CODE}/12", f"{CODE}01", f"{CODE}123", f"{CODE}-B1", f"{CODE}-B12"),
    *(f"{CODE}-B0", f"{CODE}ßB03", f"{CODE[:-1]}2", f"{CODE[:-1]}", "Robin Sample"),
    *("07700 900123", '&é"', "à&", "(-è", "HTTPS://W.EXAMPLE/J/ABCDEFGHIJKLMNOPQRSTUVWX23"),
    *("https:--w.example-j-abcdefghijklmnopqrstuvwx23-slip", "HTTPS://W.EXAMPLE/J/ABC"),
    "x" * 500,
)
FILMS = (
    *("0", "0.1", "0,5", "63", "63.4", "63,4 µm", "63 um", "063", "2000", "2000.1", "1999.999"),
    *("1.2345", "-5", "é", "6:3", "è:_", "63 mm", "1e3", "12345", ""),
)


def scans() -> Iterator[str]:
    for typed in TYPED:
        one = read_scan(typed)
        found = (one.kind.value, one.candidates, one.part, one.bag, len(one.text))
        yield f"{typed[:60]!r} {found} {tag_number(typed)!r} {shelf_place(typed)!r}"
    for typed in FILMS:
        yield f"{typed!r} {film_reading(typed)!r}"


def a_week() -> Week:
    usual = {
        "mon": ["08:00-12:00", "13:00-17:00"],
        "tue": ["08:00-17:00"],
        "thu": ["10:00-19:30"],
        "fri": ["08:00-13:00"],
        "sat": ["09:00-12:00"],
    }
    away = {"days": ["tue", "fri"], "cut_off": "10:00", "back_after_days": 2, "back_at": "15:00"}
    return read_week(
        {
            "zone": "Europe/London",
            "country": "GB",
            "subdivision": "ENG",
            "work": usual,
            "pickup": usual,
            "drop_off": {**usual, "minutes": 30, "places": 2},
            "strip_runs": away,
        }
    )


def weeks() -> Iterator[str]:
    week = a_week()
    for first in (date(2026, 3, 26), date(2026, 12, 23)):
        for n in range(9):
            yield from _of_day(week, first + timedelta(days=n))
        yield " ".join(f"{one.start:%d.%H:%M}-{one.end:%H:%M}" for one in week.windows(first, 6))
        yield " ".join(plain(one) for one in week.runs(first, 9))


def _of_day(week: Week, day: date) -> Iterator[str]:
    why = week.shut_because(day)
    spans = " ".join(f"{a:%H:%M}-{b:%H:%M}" for a, b in week.work_hours(day))
    pickup = " ".join(f"{a:%d.%H:%M}-{b:%H:%M}" for a, b in week.pickup_hours(day))
    after = week.working_days_after(day, 3)
    open_ = f"{week.is_open(day):d}{week.is_working_day(day):d}"
    yield f"{day} {spans} / {pickup} / {open_} {after} {why and english(why)}"
    for hour in (6, 9, 16, 22):
        at = week.moment(day, time(hour))
        run = week.strip_run_after(at)
        found = (week.pickup_after(at), week.working_day_later(at), week.least_stay_ends(at))
        moments = " ".join(f"{one:%d.%H:%M}" for one in found)
        yield f"  {hour} {moments} {run and plain(run)}"


def learned() -> Iterator[str]:
    for seed in range(8):
        chance = random.Random(seed)
        visits = [_visit(chance) for _ in range(chance.choice((5, 19, 20, 60)))]
        yield plain(learn_pace(visits, 0.25, MONDAY))
    for times, of in ((0, 0), (0, 49), (3, 50), (9, 60), (40, 40)):
        yield plain(learn_rate(times, of, 0.04))


def _visit(chance: random.Random) -> Visit:
    return Visit(
        PartStage.BLAST,
        chance.uniform(5, 40),
        chance.choice((10.0, 20.0)),
        chance.randint(1, 4),
        MONDAY - timedelta(days=chance.uniform(0, 300)),
    )


def visited() -> Iterator[str]:
    for seed in range(12):
        stays = list(_stays(random.Random(seed)))
        for side_by_side in (1, 2):
            found = timed(stays, PartStage.COAT, side_by_side, colour_change=12.0)
            told = (f"{v.minutes:g}/{v.expected:g}/{v.parts}@{hours(v.at)}" for v in found)
            yield f"{side_by_side}: {' '.join(told)}"


def _stays(chance: random.Random) -> Iterator[Stay]:
    at = 0.0
    for n in range(26):
        at += chance.choice((0.0, 1.9, 2.0, 2.1, 12.0, 30.0))
        came = chance.choice((0.0, 0.0, at, max(0.0, at - 60.0)))
        lot = (chance.randint(0, 2 + n // 9), "A")
        left_at = MONDAY + timedelta(minutes=at)
        colour, told = chance.choice(("k", "k", "r")), chance.random() < 0.95
        yield Stay(lot, came, at, left_at, 10.0, colour, told)


SCREEN = ("#000", "#fff", "#383E42", "7f7f7f", "#010203", "#0A0A0A", "#F00", "#00FF00", "#0000FF")


def coloured() -> Iterator[str]:
    for text in SCREEN:
        lab = lab_of_hex(text)
        found = nearest(lab, SHELF.values(), 3)
        near = [f"{one.powder.code} {one.delta:.4f} {english(one.says)}" for one in found]
        yield f"{text} {' '.join(f'{v:.4f}' for v in lab)} {hex_of_lab(lab)} {near}"
    for number in ("7016", "ral 9005", " RAL-3020 "):
        lab = lab_of_ral(number)
        yield f"{number} {lab} {hex_of_lab(lab)} {delta_e00(lab, (50, 0, 0)):.4f}"


def named() -> Iterator[str]:
    colours = {code: powder.name for code, powder in SHELF.items()}
    for seed in range(40):
        own = an_order(seed).sets
        sets = [replace(one, key="ABCD"[n]) for n, one in enumerate((*own, *own)[: 2 + seed % 3])]
        if seed % 3 == 0:
            sets = [replace(one, rim_text="as cast", count=2) for one in sets]
        for key, name in set_names(sets, colours).items():
            words = " / ".join(map(english, (name.of_set, name.of_parts, name.of_one)))
            yield f"{key} {words} {name.tells_colour:d}"


def refitted() -> Iterator[str]:
    for seed in range(30):
        order = an_order(seed)
        steps = guide_for(order)
        told = told_at_hand_back(order)
        yield f"{' '.join(one.key for one in steps)} {plain(told)}"
        if seed < 8:
            yield from (f"  {plain(one)}" for one in steps)
    for usage in (None, *Usage):
        one = wheels(new_tyres=NewTyres.LATER, removers={Item.VALVE: Remover.STAYS})
        steps = guide_for(Declared(sets=(one,), usage=usage, bringing=Bringing.WHOLE_CAR))
        yield " ".join(one.key for one in steps)


def placed() -> Iterator[str]:
    for country in (*places(), "XX"):
        for rule in rules(country):
            asks = f"{rule.needs_decision:d}{rule.inspect:d}{rule.instead is not None:d}"
            yield f"{country} {rule.key} {asks}"
        for decision, permission in product(("", "We do it."), (None, *Permission)):
            one = wheels(permission=permission, build=WheelBuild.CAST)
            where = (Place(country, decision), Place("GB", decision))
            found = place_cautions(facts_of(one), None, where, one)
            yield f"{country} {decision!r} {permission}"
            for caution in found:
                told = (caution.about, caution.says, caution.instead, caution.source)
                yield f"  {plain((caution.key, caution.kind, *told))}"


def sourced() -> Iterator[str]:
    for country in ("GB", "DE", "XX"):
        for one in subjects(country):
            yield f"{country} {english(one.title)}"
            if country != "DE":
                yield from (f"  {plain(row)}" for row in one.rows)


def shaped() -> Iterator[str]:
    for kind in PartKind:
        for size in (None, (2000.0, 900.0, 40.0), (500.0, 400.0, 300.0), (120.0, 60.0, 8.0)):
            one = part(kind, size_mm=size)
            yield f"{kind.value} {size} {plain(surface(one)) if kind is not PartKind.WHEEL else ''}"
    builds = (None, WheelBuild.CAST, WheelBuild.STEEL, WheelBuild.MULTI_PIECE)
    sizes = (Rim(18, 8.5), Rim(15, 6, bolts=4, bolt_circle_mm=100), Rim(22.5, 9, ""))
    narrow = (Rim(19, 1.6, "MT"), Rim(18, 2.15, "MT", bolts=5, bolt_circle_mm=100))
    for face, build, rim in product((None, *FaceStyle), builds, (*sizes, *narrow)):
        found = surface(wheels(face=face, build=build, rim=rim, finish=None))
        assert found is not None
        exact = f"{found.area_m2:.5f} {found.mass_kg:.4f}"
        yield f"{face} {build} {rim.diameter_code:g}: {exact} {plain(found)}"


def invoiced() -> Iterator[str]:
    for seed in range(40):
        chance = random.Random(seed)
        jobs = [_charged(chance, "WXYZ"[n]) for n in range(chance.randint(1, 3))]
        lines, taxes = lines_and_taxes(jobs)
        for line in lines:
            yield f"{line.job} {line.count} {line.listed} {line.net} {line.percent}"
        yield " ".join(plain(one) for one in taxes)


def _charged(chance: random.Random, code: str) -> JobCharges:
    percent, inclusive = chance.choice((Decimal(0), Decimal(7), Decimal(19))), chance.random() < 0.5
    charges = tuple(
        Charge(
            Message("Work"), chance.randint(-9, 9999), chance.randint(1, 4), chance.random() < 0.2
        )
        for _ in range(chance.randint(1, 4))
    )
    gross = sum(
        one.amount if inclusive or one.with_tax else one.amount * (1 + percent / 100)
        for one in charges
    )
    agreed = round(gross) + chance.choice((0, 0, -1, 1, 2, -3, 250))
    return JobCharges(code, percent, inclusive, charges, agreed)


RULES = (
    *(rails, scans, weeks, learned, visited, invoiced),
    *(coloured, named, refitted, placed, sourced, shaped),
)
SCENES: dict[str, Callable[[], Iterator[str]]] = {one.__name__: one for one in RULES}


@pytest.mark.parametrize("name", SCENES)
def test_what_small_rules_say(name: str) -> None:
    assert list(SCENES[name]()) == kept(FILE)[name]
