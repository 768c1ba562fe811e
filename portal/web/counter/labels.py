"""Labels to be scanned before the tags: stations, and places on the shelf."""

from flask import request
from werkzeug.wrappers import Response

from portal.shop.roles import Role
from portal.shop.route import SCANNED_TO
from portal.shop.scans import shelf_place
from portal.web.counter.desk import WRONG, page
from portal.web.kit.http.guards import require_role
from portal.web.kit.paper import qr

MOST_PLACES = 60


@require_role(Role.FLOOR)
def station_labels() -> Response:
    """Print a label for each station, to be scanned before the tags."""
    labels = [
        {"stage": stage, "text": text, "qr": qr.svg(text, text, module_mm=1.6)}
        for stage in SCANNED_TO
        for text in (f"AT-{stage.value.upper()}",)
    ]
    return page("station_labels", labels=labels)


@require_role(Role.FLOOR)
def shelf_labels() -> Response:
    """Print labels for places on the shelf: a row's letter, and how many places it has."""
    row = request.args.get("row", "A")[:2].upper()
    typed = request.args.get("places", "")
    places = min(int(typed), MOST_PLACES) if typed.isdecimal() and len(typed) < 4 else 0
    labels = [
        {"place": place, "text": text, "qr": qr.svg(text, text, module_mm=1.6)}
        for place in (f"{row}{number}" for number in range(1, places + 1))
        for text in (f"SHELF-{place}",)
        if shelf_place(text)
    ]
    wrong = bool(typed) and not labels
    return page("shelf_labels", WRONG if wrong else 200, labels=labels, row=row, typed=typed)
