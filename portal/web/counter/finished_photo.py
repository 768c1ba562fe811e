"""Photos of finished parts: saved with one tap at the inspection, for the customer to see."""

from typing import BinaryIO, cast

from flask import make_response, request
from flask_babel import gettext as _
from werkzeug.wrappers import Response

from portal.orders.counter.job_view import JobView
from portal.orders.kernel.errors import Refusal
from portal.orders.kernel.photos import Belongs, take_photo
from portal.shop.roles import Role
from portal.shop.states import PhotoPurpose
from portal.web.counter.desk import attempt, job_of, to
from portal.web.kit.http.guards import require_role
from portal.web.kit.i18n.languages import render
from portal.web.kit.request_context import settings, unit


@require_role(Role.FLOOR)
def finished_photo(code: str) -> Response:
    """Save a photo of finished parts; a script is answered in words alone."""
    job = job_of(code)
    if request.accept_mimetypes.best == "application/json":
        try:
            keep(job)
        except Refusal as refusal:
            return make_response(render(refusal.sentence), 422)
        return make_response("", 204)
    return attempt(lambda: _("Photo saved.") if keep(job) else None, to("job", code=code))


def keep(job: JobView, part_id: int | None = None) -> str:
    """Save the photo that came with a form, and return its token; "" where none did."""
    sent = request.files.get("photo")
    if sent is None or not sent.filename:
        return ""
    belongs = Belongs(PhotoPurpose.INSPECTION, job_id=job.id, part_id=part_id)
    return take_photo(
        unit(), cast("BinaryIO", sent.stream), belongs, limit_mb=settings().photo_limit_mb
    )
