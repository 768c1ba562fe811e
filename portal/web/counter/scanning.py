"""The scan field on every page: what was scanned goes where it belongs, or is refused.

`where` tells what a scan means on its page: `floor:blast` moves a part, `check-in:CODE` gives a
tag, `run:7` puts a part into a strip run or counts it back, `shelf:A3` notes where a job lies; at
`inspect:12` a gauge may type (`gauge`); anywhere else a scan opens the page of what was scanned.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from hashlib import blake2s
from typing import Any

from flask import flash, jsonify, request, url_for
from flask_babel import gettext as _
from werkzeug.wrappers import Response

from portal.craft.messages import Message
from portal.orders.counter import check_in
from portal.orders.kernel.checks import CheckOpen
from portal.orders.kernel.errors import Refusal, Refused, Unknown
from portal.orders.kernel.job_search import Meaning, Meant, what_is
from portal.orders.production import floor, offline_scans, shelving, strip_runs
from portal.orders.production.batches_view import run_view
from portal.shop.roles import Role
from portal.shop.route import FIRST, PartStage
from portal.shop.scans import Kind, read_scan
from portal.shop.states import RunState
from portal.web.counter import hand_back
from portal.web.counter.desk import (
    SCANS,
    job_of,
    me,
    page,
    page_of_job,
    tell_refusal,
    to,
    to_check,
    where_of,
)
from portal.web.counter.gauge import at_inspection
from portal.web.counter.scan_by import who_scanned
from portal.web.kit.http.guards import require_role, the_person
from portal.web.kit.i18n.languages import render
from portal.web.kit.request_context import unit

LONGEST = 400
MOST_AT_ONCE = 200
NAMES_A_JOB = (Kind.TAG, Kind.CODE, Kind.MISTYPED, Kind.LINK, Kind.BAG)
MILLISECOND = timedelta(milliseconds=1)
LONGEST_KEPT = timedelta(days=3)


@dataclass(frozen=True, slots=True)
class Counted:
    """The result of a scan that counts on its page."""

    says: Message
    already: bool = False
    moved: tuple[int, ...] = ()
    counted: str = ""


@require_role(Role.FLOOR)
def scan() -> Response:
    """Handle one scan from the field. GET only looks; a scan that counts is a POST."""
    typed = request.values.get("q", "")[:LONGEST]
    where = request.values.get("where", "")[:80]
    if request.method == "POST" and _counts_here(where, typed):
        return _count(where, typed, _one_scan(request.form.get("scan_id", ""), typed))
    return at_inspection(where, typed) or _open(typed)


@require_role(Role.FLOOR)
def scans() -> Response:
    """Handle the scans that a device has kept, in order; each counts once by its id."""
    body = request.get_json(silent=True)
    sent = body.get("scans") if isinstance(body, dict) else None
    if not isinstance(sent, list) or len(sent) > MOST_AT_ONCE:
        return Response(status=400)
    results = []
    counted: dict[int | None, list[str]] = {}
    for one in filter(lambda one: isinstance(one, dict), sent):
        by = who_scanned(str(one.get("by", ""))[:100])
        result = _kept_scan(one, me() if by is None else by)
        results.append(result)
        if result["kind"] == "go":
            counted.setdefault(by, []).append(result["q"].strip()[:20])
    for_others = [render(one) for one in offline_scans.sent_for(unit(), counted, who=me())]
    return jsonify(results=results, for_others=for_others)


def _kept_scan(one: dict[str, Any], by: int) -> dict[str, Any]:
    where, typed = str(one.get("where", ""))[:80], str(one.get("q", ""))[:LONGEST]
    scan_id = str(one.get("scan_id", ""))[:40]
    answer: dict[str, Any] = {"scan_id": scan_id, "q": typed}
    try:
        if not scan_id or not _counts_here(where, typed):
            raise Refused(Message("You can't use “{typed}” here.", typed=typed[:20]))
        counted = _place(where)(where, typed, scan_id, by, _kept_for(one))
    except CheckOpen as refusal:
        way = url_for("counter.check", **where_of(refusal), back=where)
        says = render(refusal.sentence)
        return {**answer, "kind": "stop", "says": says, "way": way, "way_says": _("Open the test")}
    except Refusal as refusal:
        return {**answer, "kind": "stop", "says": render(refusal.sentence)}
    kind = "tell" if counted.already else "go"
    return {**answer, "kind": kind, "says": render(counted.says), "moved": counted.moved}


def _kept_for(one: dict[str, Any]) -> timedelta:
    """Return how long a device has kept a scan, by its own clock from scan to sending."""
    kept_ms = one.get("kept_ms")
    if not isinstance(kept_ms, int) or not 0 < kept_ms <= LONGEST_KEPT / MILLISECOND:
        return timedelta()
    return kept_ms * MILLISECOND


def _one_scan(of_page: str, typed: str) -> str | None:
    """Return the scan's own id: a page from the history sends another tag with the id it had."""
    if not of_page:
        return None
    return blake2s(f"{of_page} {typed.strip().upper()}".encode(), digest_size=20).hexdigest()


def _counts_here(where: str, typed: str) -> bool:
    """Return whether this scan does something on its page, instead of opening another one."""
    scanned = read_scan(typed)
    # at the inspection a tag opens its page: nothing passes there by scan alone; nor does it
    # on a floor without a station
    place = where.partition(":")[0]
    if place not in PLACES or where in SCANS["looks_only"].split(" "):
        return False
    if place == "shelf":
        return scanned.kind in NAMES_A_JOB
    if place == "hand-back" and scanned.kind is Kind.BAG:
        return True
    return scanned.kind is Kind.TAG or (
        scanned.kind in (Kind.CODE, Kind.MISTYPED) and bool(scanned.part)
    )


def _count(where: str, typed: str, scan_id: str | None) -> Response:
    try:
        counted = _place(where)(where, typed, scan_id, me(), timedelta())
    except CheckOpen as refusal:
        return to_check(refusal, where)
    except Refusal as refusal:
        tell_refusal(refusal)
        return _back_to(where)
    flash(render(counted.says), "tell" if counted.already else "go")
    if counted.counted:
        code = where.partition(":")[2].partition(":")[0]
        return to("hand_back", code=code, counted=counted.counted)
    return _back_to(where, counted.moved, part=read_scan(typed).part)


def _back_to(where: str, moved: tuple[int, ...] = (), part: int | None = None) -> Response:
    """Return where a scan came from; at check-in a refused tag leaves its part chosen."""
    place, _sep, rest = where.partition(":")
    if place == "floor":
        return to("floor", at=rest, moved=",".join(map(str, moved)) or None)
    if place == "run":
        return to("run", run_id=rest)
    if place == "shelf":
        return to("floor", at=f"shelf-{rest}")
    if place == "hand-back":
        code, _sep, counted = rest.partition(":")
        return to("hand_back", code=code, counted=counted or None)
    code, _sep, chosen = rest.partition(":")
    return to("check_in", code=code, part=(chosen if part is None else part) or None)


def _open(typed: str) -> Response:
    if not typed.strip():
        return to("find")
    meaning = what_is(unit(), typed)
    if meaning.means in (Meant.STATION, Meant.SHELF):
        return to("floor", at=meaning.station or f"shelf-{meaning.place}")
    if meaning.means in (Meant.JOB, Meant.BAG):
        # its next step is the counter's; the floor looks
        at_counter = _may_see_jobs()
        if meaning.pickup_code and at_counter:
            hand_back.keep_code(meaning.code, meaning.pickup_code)
        return page_of_job(job_of(meaning.code)) if at_counter else to("job", code=meaning.code)
    if meaning.means is Meant.PART:
        return _open_part(meaning)
    if request.method == "POST":
        # the list has an address of its own: the browser's Back finds it again
        return to("scan", q=typed)
    return page("find", where="", typed=typed, meaning=meaning)


def _open_part(meaning: Meaning) -> Response:
    job = job_of(meaning.code)
    part = next(one for one in job.parts if one.id == meaning.part_id)
    if part.stage.is_gate:
        return to("inspect", part_id=part.id)
    if _may_see_jobs() and part.stage.is_before(FIRST):
        return page_of_job(job)
    return to("job", code=meaning.code, part=part.number)


def _may_see_jobs() -> bool:
    return the_person().may(Role.COUNTER)


def _on_floor(where: str, typed: str, scan_id: str | None, who: int, ago: timedelta) -> Counted:
    try:
        station = PartStage(where.partition(":")[2])
    except ValueError:
        raise Refused(Message("Scan or choose a station first.")) from None
    moved = floor.scan_part(unit(), typed, station, scan_id=scan_id, who=who, ago=ago)
    return Counted(moved.says, already=moved.already, moved=(moved.part_id,))


def _in_check_in(where: str, typed: str, scan_id: str | None, who: int, ago: timedelta) -> Counted:
    del scan_id, ago  # a tag is on a part once, whatever the scan
    if not the_person().may(Role.COUNTER):
        raise Refused(Message("Your sign-in doesn't give access to the counter."))
    code, _sep, number = where.partition(":")[2].partition(":")
    job = job_of(code)
    scanned = read_scan(typed)
    if scanned.part:
        if job.row.code not in scanned.candidates:
            raise Refused(Message("That paper tag belongs to another job."))
        return Counted(
            Message("Now scan the tag for part {part}.", part=scanned.part), already=True
        )
    given = check_in.give_tag(
        unit(),
        job.id,
        typed,
        part_number=int(number) if number.isdecimal() else 0,
        who=who,
    )
    if given.already:
        says = Message(
            "Tag {tag} is on part {part} already.", tag=given.tag, part=given.part_number
        )
        return Counted(says, already=True)
    return Counted(
        Message(
            "Tag {tag} is on part {part}. Still to tag: {left}.",
            tag=given.tag,
            part=given.part_number,
            left=given.left,
        )
        if given.left
        else Message(
            "Tag {tag} is on part {part}. All tagged.", tag=given.tag, part=given.part_number
        )
    )


def _at_hand_back(where: str, typed: str, scan_id: str | None, who: int, ago: timedelta) -> Counted:
    """Count a part or a bag of the job; what was counted before stands in `where`."""
    del scan_id, who, ago  # a count is on its page alone
    code, _sep, before = where.partition(":")[2].partition(":")
    job = job_of(code)
    one = hand_back.part_or_bag(job, typed)
    if not one:
        raise Refused(Message("“{typed}” is no part of this job.", typed=typed[:20]))
    says = (
        Message("Part {part} is counted.", part=one)
        if one.isdecimal()
        else Message("Bag {bag} is counted.", bag=one)
    )
    counted = ".".join(hand_back.counted_in(f"{before}.{one}", job))
    return Counted(says, already=one in before.split("."), counted=counted)


def _in_run(where: str, typed: str, scan_id: str | None, who: int, ago: timedelta) -> Counted:
    del scan_id, ago  # a part is in a run once, whatever the scan
    number = where.partition(":")[2]
    if not number.isdecimal():
        raise Unknown(Message("There is no strip run {run}.", run=number[:9]))
    run = run_view(unit(), int(number[:9]))
    verb = strip_runs.gather if run.state is RunState.GATHERING else strip_runs.count_back
    added = verb(unit(), run.id, typed, who=who)
    says = Message("Tag {tag}: {how}", tag=added.tag or added.number, how=added.says)
    return Counted(says, already=added.already)


def _on_shelf(where: str, typed: str, scan_id: str | None, who: int, ago: timedelta) -> Counted:
    del scan_id, ago  # a job lies at one place, whatever the scan
    put = shelving.put_on_shelf(unit(), typed, where.partition(":")[2], who=who)
    return Counted(put.says, already=put.already)


Place = Callable[[str, str, str | None, int, timedelta], Counted]
PLACES: dict[str, Place] = {
    "floor": _on_floor,
    "check-in": _in_check_in,
    "run": _in_run,
    "shelf": _on_shelf,
    "hand-back": _at_hand_back,
}


def _place(where: str) -> Place:
    return PLACES[where.partition(":")[0]]


@require_role(Role.COUNTER)
def find() -> Response:
    """Show the search, with its results where there are words."""
    typed = request.args.get("q", "")[:LONGEST]
    if typed.strip():
        return _open(typed)
    return page("find", typed="", meaning=None)
