"""Lengths as pages show them."""

from portal.render.figures import MM_PER_INCH
from portal.web.kit.i18n import measures


def length_text(length: float) -> str:
    """Write mm, or inches for whoever chose them, without a needless fraction."""
    if measures.in_inches():
        return f"{round(length / MM_PER_INCH, 2):g} in"
    return f"{length:g} mm"
