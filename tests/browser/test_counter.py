"""The counter in a browser: a scanner that types, a camera, a network that fails, two people."""

import json
import re

import pytest
import sqlalchemy as sa
from playwright.sync_api import Error as PlaywrightError
from playwright.sync_api import expect

from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.store.tables import Move, Part, Person
from tests.browser.staff import enter, hears, says, scan
from tests.browser.turns import press, unfold
from tests.cast import COUNTER, OFFICE
from tests.factories import a_booked_job, a_job_at, a_job_in_work, events, stages, state
from tests.shop import scan_cases

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("size", ["phone", "desktop"])
@pytest.mark.parametrize("js", [True, False], ids=["scripts", "no-scripts"])
def test_a_set_is_checked_in_with_a_scanner_and_one_press(live, unit, size, js, pictures) -> None:
    job = a_booked_job(unit)
    page = enter(live.person(size, js=js))
    scan(page, f"http://127.0.0.1:8000/J/{job.token}", js=js)
    page.wait_for_url("**/check-in")
    for n, tag in enumerate(("101", "102", "103", "104"), start=1):
        scan(page, tag, js=js)
        says(page, f"Tag {tag} is on part {n}")
    pictures(page, "tagged")
    press(page.get_by_role("button", name="All as declared: receive and start"))
    says(page, "Received. Work has started.")
    assert state(unit, job) is JobState.IN_WORK


def test_the_field_takes_keys_wherever_the_focus_is(live, unit) -> None:
    job = a_booked_job(unit)
    page = enter(live.person("desktop"))
    page.get_by_role("link", name="Floor").focus()
    scan(page, job.code.lower())
    page.wait_for_url("**/check-in")
    # but never out of a field in which somebody is typing
    unfold(page, "Stamps and casting dates")
    page.locator("#stamp-1").focus()
    page.keyboard.type("0423 A")
    expect(page.locator("#stamp-1")).to_have_value("0423 A")
    expect(page.locator("#scan")).to_have_value("")


# keys at the pace of a scanner, or of a hand
KEYS = """async ([text, pause]) => {
  const field = document.querySelector("#scan");
  field.focus();
  for (const key of text) {
    field.value += key;
    field.dispatchEvent(new InputEvent("input", { data: key, bubbles: true }));
    if (pause) await new Promise((go) => setTimeout(go, pause));
  }
}"""


def test_a_scanner_without_an_enter_is_sent_and_a_hand_is_not(live, unit) -> None:
    job = a_booked_job(unit)
    page = enter(live.person("desktop"))
    for typed, pause in ((job.code, 60), ("Robin Sample", 0)):
        hears(page)
        page.evaluate(KEYS, [typed, pause])
        page.wait_for_timeout(400)
        assert page.url.endswith("/counter/today")
        page.locator("#scan").fill("")
    page.evaluate(KEYS, [f"http://127.0.0.1:8000/j/{job.token.lower()}", 0])
    page.wait_for_url("**/check-in")
    hears(page)
    page.evaluate(KEYS, ["101", 0])
    says(page, "Tag 101 is on part 1.")


def test_the_second_save_hears_of_the_first_and_keeps_what_was_typed(live, unit) -> None:
    job = a_booked_job(unit)
    first, second = enter(live.person("phone")), enter(live.person("desktop"), OFFICE)
    for page in (first, second):
        page.goto(f"/counter/job/{job.code}/check-in")
        unfold(page, "Stamps and casting dates")
    first.locator("#stamp-1").fill("0423 A")
    second.locator("#stamp-2").fill("1121 B")
    press(first.get_by_role("button", name="Save the stamps"))
    press(second.get_by_role("button", name="Save the stamps"))
    expect(second.get_by_text("the stamp of part 1 was noted (0423 A)")).to_be_visible()
    expect(second.locator("#stamp-2")).to_have_value("1121 B")


def test_tags_move_without_leaving_the_page_and_undo_goes_after_ten_seconds(live, unit) -> None:
    job = a_job_in_work(unit)
    page = enter(live.person("phone"))
    # on a phone the scanned station is the one that is shown
    scan(page, "AT-INSPECT")
    page.wait_for_url("**/floor?at=inspect")
    expect(page.locator("#h-inspect")).to_be_in_viewport()
    scan(page, "AT-BLAST")
    page.wait_for_url("**/floor?at=blast")
    scan(page, "101")
    says(page, "Prep → Blast")
    expect(page.locator("#at-blast .tag")).to_have_text(["101"])
    scan(page, "101")
    says(page, "already")
    # the board stays where it is while a scanner types
    page.evaluate("document.querySelector('#at-blast details').open = true")
    here = page.evaluate("() => { scrollTo(0, 120); return scrollY; }")
    assert here > 0
    page.keyboard.type("102")
    assert page.evaluate("scrollY") == here
    page.keyboard.press("Enter")
    says(page, "Tag 102")
    expect(page.locator("#at-blast .tag")).to_have_text(["101", "102"])
    press(page.get_by_role("button", name=re.compile("Undo")))
    expect(page.locator("#at-blast .tag")).to_have_text(["101"])
    assert stages(unit, job).count(PartStage.BLAST) == 1


def test_scans_without_a_network_are_kept_shown_and_sent_in_order_once(live, unit) -> None:
    """While a phone is without a network, the counter goes on with the same job."""
    job = a_job_in_work(unit)
    page, desk = enter(live.person("phone")), enter(live.person("desktop"), OFFICE)
    scan(page, "AT-BLAST")
    page.wait_for_url("**/floor?at=blast")
    page.context.set_offline(True)
    for tag in ("103", "101", "102", "104"):
        scan(page, tag)
    expect(page.locator(".scan-kept")).to_contain_text("Scans saved on this device: 4.")
    expect(page.locator(".scan-kept li")).to_have_text(
        ["103 · blast", "101 · blast", "102 · blast", "104 · blast"]
    )
    assert stages(unit, job) == [PartStage.PREP] * 4
    desk.goto("/counter/floor?at=blast")
    scan(desk, "102")
    says(desk, "Tag 102")
    scan(desk, "AT-COAT")
    desk.wait_for_url("**/floor?at=coat")
    scan(desk, "102")
    says(desk, "Blast → Coat")
    # the answer to the first sending is lost on its way: the scans go out a second time
    lost = []

    def lose_once(route) -> None:
        if lost:
            route.continue_()
            return
        lost.append(route.fetch().status)
        route.abort()

    page.route("**/counter/scans", lose_once)
    page.context.set_offline(False)
    expect(page.locator(".scan-kept")).to_have_count(0)
    assert lost == [200]
    # what the desk did meanwhile stands, and the phone is told
    says(page, "Part 2 is already at “Coat”. To send it back to “Blast”, use Rework")
    assert stages(unit, job) == [
        PartStage.BLAST, PartStage.COAT, PartStage.BLAST, PartStage.BLAST,
    ]  # fmt: skip
    with unit.read() as session:
        order = session.execute(
            sa.select(Part.tag, Person.name)
            .join(Move, Move.part_id == Part.id)
            .join(Person, Person.id == Move.person_id)
            .where(Move.scan_id.is_not(None))
            .order_by(Move.id)
        ).all()
    assert [tuple(row) for row in order] == [
        ("102", OFFICE.name), ("102", OFFICE.name),
        ("103", COUNTER.name), ("101", COUNTER.name), ("104", COUNTER.name),
    ]  # fmt: skip
    # the browser's own word about the network that this test took away
    live.wrong[:] = [line for line in live.wrong if "net::ERR_" not in line]


def test_a_page_opened_without_a_network_keeps_scans_until_it_is_back(live, unit, pictures) -> None:
    job = a_job_in_work(unit)
    desk = enter(live.person("desktop"), OFFICE, at="/counter/floor?at=blast")
    page = enter(live.person("phone", service_workers="allow"), at="/counter/floor?at=blast")
    page.evaluate("() => navigator.serviceWorker.ready.then(() => {})")
    page.context.set_offline(True)
    scan(page, "102")
    expect(page.locator(".scan-kept li")).to_have_text(["102 · blast"])
    page.reload()
    expect(page.get_by_role("heading", name="No network")).to_be_visible()
    expect(page.locator(".scan-label")).to_have_text("Scanned tags go to: Blast")
    # a paper tag without separators, and a tag as a French keyboard writes it
    scan(page, f"{job.code}04".lower())
    expect(page.locator(".scan-kept li")).to_have_text(
        ["102 · blast", f"{job.code}04 · blast".lower()]
    )
    scan(page, "QT)COQT")
    page.wait_for_url("**/floor?at=coat")
    scan(page, "&àé")
    scan(page, "somebody")
    says(page, "Without a network you can scan only stations and tags.")
    expect(page.locator(".scan-kept")).to_contain_text("Scans saved on this device: 3.")
    pictures(page, "no-network")
    # nothing of anybody is kept in the browser's own store
    kept = page.evaluate(
        "async () => { const shell = await caches.match('/counter/offline'); return shell.text(); }"
    )
    assert COUNTER.name not in kept
    assert "csrf_token" not in kept
    # the desk scans one of the same tags and one that the phone does not have
    for tag in ("104", "103"):
        scan(desk, tag)
        says(desk, f"Tag {tag}")
    page.context.set_offline(False)
    expect(page.locator("#at-coat .tag")).to_have_text(["102"])
    expect(page.locator(".scan-kept")).to_have_count(0)
    assert stages(unit, job) == [
        PartStage.PREP, PartStage.COAT, PartStage.BLAST, PartStage.BLAST,
    ]  # fmt: skip
    desk.reload()
    expect(desk.locator("#at-blast .tag")).to_have_text(["103", "104"])
    expect(desk.locator("#at-coat .tag")).to_have_text(["102"])
    assert len([one for one in events(unit, job, "move") if one.scan_id]) == 4
    live.wrong[:] = [line for line in live.wrong if "net::ERR_" not in line]


def test_going_back_to_what_was_pressed_is_no_lost_network(live) -> None:
    page = enter(live.person("phone", service_workers="allow"), at="/counter/tags")
    page.evaluate("() => navigator.serviceWorker.ready.then(() => {})")
    page.goto("/counter/tags")
    page.get_by_label("First number").fill("none")
    press(page.get_by_role("button", name="Add"))
    expect(page.locator(".wrongs")).to_be_visible()
    page.goto("/counter/floor")
    # the browser asks whether to send it once more: that is its own page, not ours
    with pytest.raises(PlaywrightError, match="ERR_CACHE_MISS"):
        page.go_back()


def test_scans_kept_on_a_shared_device_count_for_who_scanned(live, unit) -> None:
    job = a_job_in_work(unit)
    page = enter(live.person("phone"), at="/counter/floor?at=blast")
    by = page.locator("form[data-scan]").get_attribute("data-by")
    marks = {"102": by, "103": by.replace(".", "9.", 1), "104": ""}
    kept = [
        {"scan_id": tag * 10, "where": "floor:blast", "q": tag, "by": mark}
        for tag, mark in marks.items()
    ]
    page.context.clear_cookies()
    page.evaluate("kept => localStorage.setItem('scans-kept', kept)", json.dumps(kept))
    enter(page, OFFICE)
    says(page, "Tag 104")
    says(page, f"102: scanned by {COUNTER.name}, recorded under {COUNTER.name}.")
    # a forged mark, and the mark that a browser lost when it was started anew
    says(page, "103, 104: nobody was signed in at the scan, so it is recorded under your name.")
    assert stages(unit, job)[1:] == [PartStage.BLAST] * 3
    with unit.read() as session:
        names = session.scalars(
            sa.select(Person.name)
            .join(Move, Move.person_id == Person.id)
            .where(Move.scan_id.is_not(None))
            .order_by(Move.id)
        ).all()
    assert list(names) == [COUNTER.name, OFFICE.name, OFFICE.name]
    # and who sent them is on record too
    page.goto("/office/doing")
    for what in (f"{COUNTER.name}: 102", "?: 103, 104"):
        line = page.locator(".log tr").filter(has_text=f"sent scans that a device had kept. {what}")
        expect(line).to_contain_text(OFFICE.name)


def test_tags_are_counted_by_scan_at_the_hand_back(live, unit, pictures) -> None:
    from portal.orders.counter import hand_back

    job = a_job_at(unit, PartStage.DONE)
    hand_back.make_ready(unit, job.job_id, who=None)
    page = enter(live.person("desktop"))
    scan(page, job.code)
    page.wait_for_url("**/hand-back")
    for n, tag in enumerate(("101", "102", "103", "104"), start=1):
        scan(page, tag)
        expect(page.locator("output[data-count=parts]")).to_have_text(f"{n}/4")
    # who looks something up and comes back finds the count as it was
    page.goto("/counter/shelf")
    page.go_back()
    expect(page.locator("output[data-count=parts]")).to_have_text("4/4")
    # the code that the customer's phone shows, scanned like a tag
    scan(page, f"  {job.pickup_code}  ")
    expect(page.get_by_text("The code is right.")).to_be_visible()
    expect(page.locator("output[data-count=parts]")).to_have_text("4/4")
    pictures(page, "counted")
    press(page.locator(".bar").get_by_role("button", name="hand back").first)
    says(page, "Handed back.")
    assert state(unit, job) is JobState.HANDED_BACK


# what the page makes of each text: how the module that it scans with names it
READ = """async ([module, texts]) => {
  const read = await import(module);
  return texts.map((typed) => {
    const paper = read.paper(typed);
    return {
      tag: read.tag(typed), paper: paper && [paper.code, paper.part],
      station: read.station(typed), reading: read.reading(typed),
      shelf: read.shelf(typed), bag: read.bag(typed),
    };
  });
}"""


def test_the_page_reads_scans_as_the_server_does(live) -> None:
    page = enter(live.person("phone"), at="/counter/floor")
    script = page.locator("script[src*='scan.js']").get_attribute("src")

    def read(*texts: str) -> list[dict[str, object]]:
        return page.evaluate(READ, [script.replace("scan.js", "scan_forms.js"), texts])

    assert [one["tag"] for one in read(*scan_cases.TAGS)] == list(scan_cases.TAGS.values())
    stations = [one["station"] for one in read(*scan_cases.STATIONS)]
    assert stations == list(scan_cases.STATIONS.values())
    papers = [tuple(one["paper"]) for one in read(*scan_cases.PAPER)]
    assert papers == list(scan_cases.PAPER.values())
    shelves = [one["shelf"] for one in read(*scan_cases.SHELVES)]
    assert shelves == list(scan_cases.SHELVES.values())
    bags = [(one["bag"]["code"], one["bag"]["bag"]) for one in read(*scan_cases.BAGS)]
    assert bags == list(scan_cases.BAGS.values())
    for one in read(*scan_cases.NEITHER):
        assert (one["tag"], one["station"], one["paper"]) == ("", "", None)
        assert (one["shelf"], one["bag"]) == ("", None)
    readings = [one["reading"] for one in read(*scan_cases.READINGS, *scan_cases.NO_READINGS)]
    assert readings == [*scan_cases.READINGS.values(), *("" for _ in scan_cases.NO_READINGS)]


def test_the_decoder_comes_only_when_the_camera_is_asked_for(live) -> None:
    page = live.person("phone")
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    enter(page)
    page.goto("/counter/floor")
    assert not [url for url in asked if "vendor" in url or "camera" in url]
