"""The floor: every part through its stages by the real pages, until the job can be ready."""

import re

from tests.customers import tests_first
from tests.customers.counter import Desk, scan_all
from tests.customers.forms import forms_of
from tests.customers.oven import cure
from tests.customers.watch import Fell, must
from tests.page import words

MOST_MOVES = 60
WHOLE_SET = re.compile(r"/job/[^/]+/inspect/[^/]+$")
SKIPPED = re.compile(r"not brought|lost|not possible")


def work(desk: Desk) -> int:
    """Bring every part to its end; return how many were worked on."""
    for _ in range(MOST_MOVES):
        desk.get(desk.job)
        at = stages(desk)
        going = [one for one in at if one not in ("done", "gone")]
        if not going:
            return len(at)
        desk.order.house.clock.advance(minutes=25)
        stage = going[0]
        {"strip": strip, "cure": cure, "inspect": inspect}.get(stage, move)(desk, stage)
        desk.order.plan.note("stage", stage)
    raise Fell(f"after {MOST_MOVES} moves the parts are at {going}")


def stages(desk: Desk) -> list[str]:
    """Return the stage of each part that is worked on, as the job's page tells it."""
    return [
        e.get("data-state") or ""
        for part in desk.page.all("ul", class_="parts")
        for e in part.iter("li")
        if not SKIPPED.search(words(e))
    ]


def move(desk: Desk, stage: str) -> None:
    """Move every group at a station on by its button."""
    tested = tests_first.record(desk, "/counter/floor", f"at-{stage}")
    must(desk.page.all(id=f"at-{stage}"), f"the floor has no station {stage}")
    for number in range(MOST_MOVES):
        inside = {id(e) for one in desk.page.all(id=f"at-{stage}") for e in one.iter()}
        found = [f for f in forms_of(desk.page) if id(f.element) in inside and f.buttons]
        must(found or number or tested, f"at {stage}: no button that moves on")
        if not found:
            return
        desk.person.send(found[0])
    raise Fell(f"the parts at {stage} never leave")


def strip(desk: Desk, stage: str) -> None:
    """Send what waits for the bath away with a run, and count it back in some days later."""
    tests_first.record(desk, "/counter/floor", f"at-{stage}")
    desk.get("/counter/strip-runs")
    desk.press("/strip-runs")
    must(re.search(r"/strip-runs/\d+$", desk.person.path), "no run can be started")
    run = desk.person.path
    for _ in range(12):
        waiting = [f for f in forms_of(desk.page) if f.action.endswith("/gather")]
        if not waiting:
            break
        desk.person.send(waiting[0])
    tags = list(dict.fromkeys(words(e) for e in desk.page.all(class_="tag")))
    must(tags, "nothing goes into the run")
    desk.press("/send")
    desk.order.house.clock.advance(days=3)
    desk.get(run)
    scan_all(desk, tags)
    desk.get(run)
    if desk.form("/close"):
        desk.press("/close")


def inspect(desk: Desk, stage: str) -> None:
    """Measure one part after the other; now and then one goes back."""
    desk.get("/counter/floor")
    links = [
        a.get("href") or ""
        for column in desk.page.all(id=f"at-{stage}")
        for a in column.iter("a")
        if re.search(r"/part/\d+/inspect$", a.get("href") or "")
    ]
    must(links, "nothing leads to the inspection")
    whole = [
        a.get("href") or ""
        for column in desk.page.all(id=f"at-{stage}")
        for a in column.iter("a")
        if WHOLE_SET.search(a.get("href") or "")
    ]
    if whole and desk.order.plan.likely(0.4):
        inspect_set(desk, whole[0])
        return
    desk.get(links[0])
    back = desk.order.plan.likely(0.06)
    for _ in range(120):
        if not re.search(r"/part/\d+/inspect$", desk.person.path):
            return
        desk.order.house.clock.advance(minutes=3)
        form = desk.form("/inspect")
        if form is None:
            raise Fell("the inspection has no form")
        low, high = _film(desk)
        middle = (low + high) // 2
        spot = [
            " ".join(str(middle + step + way) for way in (-1, 0, 1)) for step in (0, 2, -2, 3, -3)
        ]
        readings = "\n".join((spot * 10)[: _spots(desk)])
        answers = {"readings": readings, "eye": "no" if back else "yes"}
        desk.person.send(form, answers)
        must(desk.person.at.status == 200, f"the readings {readings} are refused")
        if "/rework" in desk.person.path:
            form = desk.form("/rework")
            must(form and not form.fields["fault"].checked, "a fault is chosen before anybody did")
            # which one differs from customer to customer
            faults = form.fields["fault"].values
            fault = next((one for one in faults[:-1] if desk.order.plan.likely(0.3)), faults[-1])
            desk.press("/rework", {"fault": fault, "words": "as seen at the lip"})
            desk.order.plan.note("fault", fault)
            desk.order.plan.note("stage", "rework")
            return
        must(not back, "what the eye refused went on")
    raise Fell("the inspection never ends")


def inspect_set(desk: Desk, address: str) -> None:
    """Measure every part of a set on one page."""
    desk.get(address)
    form = next((f for f in forms_of(desk.page) if WHOLE_SET.search(f.action)), None)
    if form is None:
        raise Fell("the inspection of a set has no form")
    areas = [name for name in form.fields if name.startswith("readings-")]
    must(len(areas) > 1, "a set of one part is no set")
    found = re.search(r"(\d[\d,]*)–(\d[\d,]*)\s*µm", words(desk.page.one("p", class_="lead")))
    must(found, "the inspection of the set tells no film thickness")
    middle = sum(int(one.replace(",", "")) for one in found.groups()) // 2
    spots = int(desk.page.one("textarea", id=areas[0]).get("data-needed") or 0)
    spot = f"{middle - 1} {middle} {middle + 1}"
    answers = {name: "\n".join([spot] * spots) for name in areas}
    desk.person.send(form, {**answers, "eye": "yes"})
    must(desk.person.at.status == 200, "the readings of the set are refused")
    must(not WHOLE_SET.search(desk.person.path), "the set is still to be inspected")
    desk.order.plan.note("stage", "set inspected")


def _spots(desk: Desk) -> int:
    hint = words(desk.page.one(id="readings-hint"))
    found = re.search(r"\d+", hint)
    if found is None:
        raise Fell("the inspection doesn't say how many spots are measured")
    return int(found[0])


def _film(desk: Desk) -> tuple[int, int]:
    facts = words(desk.page.all("dl", class_="facts")[0])
    found = re.search(r"(\d[\d,]*)–(\d[\d,]*)\s*µm", facts)
    if found is None:
        raise Fell("the inspection tells no film thickness")
    return int(found[1].replace(",", "")), int(found[2].replace(",", ""))
