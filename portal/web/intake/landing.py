"""The first screen, and the page that weighs powder against what else there is."""

from flask import render_template
from flask.typing import ResponseReturnValue

from portal.web.kit.security import in_the_open


@in_the_open
def landing() -> ResponseReturnValue:
    """Say in one screen what this is, and begin."""
    return render_template("intake/landing.html")


@in_the_open
def why_powder() -> ResponseReturnValue:
    """Weigh powder against peelable coatings and wraps."""
    return render_template("intake/why_powder.html")
