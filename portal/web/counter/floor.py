"""The floor, station by station; parts move by scan or by tap, and a move can be undone."""

from datetime import timedelta
from typing import Any

from flask import flash, request, url_for
from flask_babel import gettext as _
from werkzeug.wrappers import Response

from portal.craft.messages import Message
from portal.orders.kernel.checks import CheckOpen
from portal.orders.kernel.errors import Refusal, Refused
from portal.orders.production import floor as verbs
from portal.orders.production.floor_view import FloorView, floor_view
from portal.orders.production.groups import Column
from portal.orders.production.shelving import lying_at
from portal.shop.roles import Role
from portal.shop.route import ON_THE_FLOOR, PartStage
from portal.shop.scans import shelf_place
from portal.web.counter import floor_cards
from portal.web.counter.desk import attempt, counted_parts, me, page, tell_refusal, to, to_check
from portal.web.kit.http.guards import require_role
from portal.web.kit.i18n.languages import label, render
from portal.web.kit.request_context import now, unit

UNDO_SHOWN = timedelta(seconds=10)


@require_role(Role.FLOOR)
def board() -> Response:
    """Show every station; scanned tags go to the station `at`."""
    at = _station(request.args.get("at", ""))
    place = shelf_place(request.args.get("at", "")[:20])
    view = floor_view(unit())
    opened = next(iter(_ids(request.args.get("open", ""))), None)
    return page(
        "floor",
        where=_where(at, place),
        place=place,
        lying=lying_at(unit(), place) if place else (),
        floor=view,
        at=at,
        opened=opened,
        shown=_stage_of(view, opened) or at,
        card_of=floor_cards.of_page(view, opened, at),
        moved=_just_moved(view.columns, _ids(request.args.get("moved", ""))),
        undo_seconds=int(UNDO_SHOWN.total_seconds()),
    )


@require_role(Role.FLOOR)
def move() -> Response:
    """Move the parts of a group on."""
    ids = _ids(",".join(request.form.getlist("part")))
    target = _station(request.form.get("to", ""))
    at = request.form.get("at", "") or None
    try:
        if target is None:
            raise Refused(Message("Choose the station first."))
        done = verbs.move_on(unit(), ids, to=target, who=me())
    except CheckOpen as refusal:
        return to_check(refusal, f"floor:{at or ''}")
    except Refusal as refusal:
        tell_refusal(refusal)
        return to("floor", at=at)
    for weigh in {render(one.weigh): None for one in done[-1:] if one.weigh}:
        flash(weigh, "stop")
    moved = ",".join(str(one.part_id) for one in done)
    return to("floor", at=at, moved=moved, _anchor=f"at-{target.value}")


@require_role(Role.FLOOR)
def undo() -> Response:
    """Undo the last move of these parts."""
    moved = _moved(request.form.get("parts", ""))
    at = request.form.get("at", "") or None

    def work() -> Any:
        back = verbs.take_back(unit(), moved, who=me())
        return _(
            "%(parts)s back at %(station)s.",
            parts=counted_parts(len(back)),
            station=label(back[0].now),
        )

    return attempt(work, to("floor", at=at))


def _where(at: PartStage | None, place: str) -> str:
    if place:
        return f"shelf:{place}"
    return f"floor:{at.value}" if at else "floor:"


def _stage_of(view: FloorView, part_id: int | None) -> PartStage | None:
    """Return where a part stands; a phone shows one station at a time."""
    return next((one.stage for one in view.groups if part_id in one.ids), None)


def _station(text: str) -> PartStage | None:
    try:
        station = PartStage(text)
    except ValueError:
        return None
    return station if station in ON_THE_FLOOR else None


def _ids(text: str) -> list[int]:
    return [int(one) for one in text.split(",")[:100] if one.isdecimal() and len(one) < 12]


def _moved(text: str) -> dict[int, PartStage]:
    """Parse moved parts and their stage, as the undo button names them: `12:blast`."""
    pairs = [one.partition(":") for one in text.split(",")[:100]]
    return {
        number: station
        for part, _sep, name in pairs
        for number in _ids(part)
        if (station := _station(name)) is not None
    }


def _just_moved(columns: tuple[Column, ...], ids: list[int]) -> dict[str, Any] | None:
    """Return the data of the undo button, while it may be pressed."""
    since = now() - UNDO_SHOWN
    found = [
        (part, group)
        for column in columns
        for group in column.groups
        for part in group.parts
        if part.id in ids and part.since >= since
    ]
    if not found or len(found) != len(ids):
        return None
    return {
        "ids": ",".join(f"{part.id}:{group.stage.value}" for part, group in found),
        "parts": counted_parts(len(found)),
        "station": label(found[0][1].stage),
        "url": url_for("counter.undo"),
    }
