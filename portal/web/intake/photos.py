"""Photos of the parts: each that can be read is kept at once, whatever else is wrong."""

from typing import Any

from portal.orders.intake import drafts
from portal.orders.intake.draft_view import DraftView
from portal.orders.kernel.errors import Refused
from portal.web.kit.request_context import settings, unit


def take_photos(seen: DraftView, form: Any) -> bool:
    """Keep the photos that came with the form; put a sentence beside the field for each other."""
    good = True
    for sent in form.photos.data or ():
        if not getattr(sent, "filename", ""):
            continue
        limit = settings().photo_limit_mb
        try:
            drafts.add_photo(unit(), seen.token, form.key.data, sent.stream, limit_mb=limit)
        except Refused as refused:
            good = form.blame("photos", refused.sentence)
    return good
