"""The oven: running loads, and proposals for the next ones."""

from typing import Any

from flask import request
from flask_babel import gettext as _
from werkzeug.wrappers import Response

from portal.orders.kernel.checks import CheckOpen
from portal.orders.kernel.errors import Refusal
from portal.orders.production import oven as verbs
from portal.orders.production.batches_view import oven
from portal.shop.roles import Role
from portal.web.counter.desk import attempt, counted_parts, me, page, tell_refusal, to, to_check
from portal.web.kit.http.guards import require_role
from portal.web.kit.request_context import unit


@require_role(Role.FLOOR)
def show() -> Response:
    return page("oven", oven=oven(unit()), typed={})


@require_role(Role.FLOOR)
def start() -> Response:
    """Start a load; the input stays when it is refused."""
    parts = [int(one) for one in request.form.getlist("part")[:200] if one.isdecimal()]
    heat, minutes = _number("set_point_c"), _number("minutes")
    try:
        load = verbs.start_load(
            unit(),
            parts,
            set_point_c=heat,
            minutes=minutes,
            once_token=request.form.get("once", ""),
            who=me(),
        )
    except CheckOpen as refusal:
        return to_check(refusal, "oven")
    except Refusal as refusal:
        tell_refusal(refusal)
        typed = {
            "proposal": request.form.get("proposal", ""),
            "parts": parts,
            "set_point_c": request.form.get("set_point_c", ""),
            "minutes": request.form.get("minutes", ""),
            "key": refusal.key,
        }
        return page("oven", 422, oven=oven(unit()), typed=typed)
    return attempt(lambda: _("Load %(load)s started.", load=load), to("oven"))


@require_role(Role.FLOOR)
def close(load_id: int) -> Response:
    """Close a load; its parts move on."""
    reason = request.form.get("early_because", "")

    def work() -> Any:
        count = verbs.close_load(unit(), load_id, early_because=reason, who=me())
        return _("Load %(load)s closed. Moved on: %(parts)s.",
                 load=load_id, parts=counted_parts(count))  # fmt: skip

    return attempt(work, to("oven"))


def _number(name: str) -> int:
    text = request.form.get(name, "").strip()
    return int(text) if text.isdecimal() and len(text) < 6 else 0
