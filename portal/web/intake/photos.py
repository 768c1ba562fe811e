"""Photos of the parts: each readable one is saved at once, whatever else is wrong."""

from typing import Any

from portal.orders.intake import drafts
from portal.orders.intake.draft_view import DraftView
from portal.orders.kernel.errors import Refused
from portal.web.kit.request_context import settings, unit


def take_photos(view: DraftView, form: Any) -> bool:
    """Save the photos of the form; add an error to the field for each unreadable one."""
    good = True
    for sent in form.photos.data or ():
        if not getattr(sent, "filename", ""):
            continue
        limit = settings().photo_limit_mb
        try:
            drafts.add_photo(unit(), view.token, form.key.data, sent.stream, limit_mb=limit)
        except Refused as refused:
            good = form.add_error("photos", refused.sentence)
    return good
