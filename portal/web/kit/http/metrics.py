"""Figures for whoever watches the portal, as OpenMetrics text 1.0, behind a token.

Requests are counted in memory that the processes of one server share: it is made before they are.
"""

from collections.abc import Iterator
from ctypes import c_ulonglong
from datetime import datetime
from hmac import compare_digest
from multiprocessing import Array

from flask import Blueprint, Flask, Response, abort, g, request

from portal.orders.kernel.heartbeat import mail_worker
from portal.orders.office.late import late_jobs
from portal.web.kit.request_context import now, settings, unit

blueprint = Blueprint("metrics", __name__)
CLASSES = ("2xx", "3xx", "4xx", "5xx")
COUNTS = Array(c_ulonglong, len(CLASSES))
KIND = "application/openmetrics-text; version=1.0.0; charset=utf-8"


@blueprint.get("/metrics")
def metrics() -> Response:
    """Return the figures; 404 unless the settings have a token and the request has it, too."""
    sent = request.headers.get("Authorization", "").removeprefix("Bearer ")
    wanted = settings().metrics_token
    if not wanted or not compare_digest(sent.encode(), wanted.encode()):
        abort(404)
    return Response("\n".join([*_lines(), "# EOF", ""]), content_type=KIND)


def _lines() -> Iterator[str]:
    yield "# TYPE portal_requests counter"
    for name, count in zip(CLASSES, COUNTS[:], strict=True):
        yield f'portal_requests_total{{status="{name}"}} {count}'
    mail, late = mail_worker(unit()), late_jobs(unit())
    figures = {
        "portal_letters_waiting": mail.waiting,
        "portal_letters_given_up": mail.given_up,
        "portal_oldest_letter_seconds": _age(mail.oldest_at),
        "portal_mail_worker_seconds": _age(mail.seen_at),
        "portal_forecast_seconds": _age(late.made_at),
        "portal_jobs_open": late.open_jobs,
        "portal_jobs_overdue": len(late.overdue),
        "portal_jobs_will_be_late": len(late.to_come),
    }
    for name, figure in figures.items():
        yield f"# TYPE {name} gauge"
        if figure is not None:
            yield f"{name} {figure:.0f}"


def _age(moment: datetime | None) -> float | None:
    """Return the seconds since a moment; None of what never was."""
    return None if moment is None else (now() - moment).total_seconds()


def init_app(app: Flask) -> None:
    """Count every answer but those for files."""

    @app.after_request
    def count(response: Response) -> Response:
        at = response.status_code // 100 - 2
        if 0 <= at < len(CLASSES) and not g.get("is_asset"):
            with COUNTS.get_lock():
                COUNTS[at] += 1
        return response
