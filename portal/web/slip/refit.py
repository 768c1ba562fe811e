"""The refit guide, on screen and as PDF."""

from collections.abc import Iterator

from flask import render_template, url_for
from flask.typing import ResponseReturnValue

from portal.orders.kernel.refit_guide import Refit, refit
from portal.web.kit.paper.printing import as_pdf
from portal.web.kit.request_context import unit


def show_guide(token: str) -> ResponseReturnValue:
    return _page(refit(unit(), token), "roomy")


def guide_pdf(token: str) -> ResponseReturnValue:
    seen = refit(unit(), token)
    return as_pdf(_denser(seen), f"{seen.code}-refit.pdf")


def _denser(seen: Refit) -> Iterator[str]:
    # what is too much for one page even set tight is read more easily on two
    for fit in ("roomy", "tight", "roomy"):
        yield _page(seen, fit)


def _page(seen: Refit, fit: str) -> str:
    links = {
        "status": url_for("status.show", token=seen.token),
        "a4": url_for("slip.guide_pdf", token=seen.token, size="a4"),
        "letter": url_for("slip.guide_pdf", token=seen.token, size="letter"),
    }
    return render_template("slip/refit.html", guide=seen, fit=fit, links=links)
