"""The list that goes along with a strip run, on screen and as PDF."""

from flask import render_template, url_for
from werkzeug.wrappers import Response

from portal.orders.production.manifest_view import Manifest
from portal.orders.production.manifest_view import manifest as manifest_of
from portal.shop.roles import Role
from portal.web.counter.desk import page
from portal.web.kit.http.guards import require_role
from portal.web.kit.paper.printing import as_pdf
from portal.web.kit.request_context import unit


@require_role(Role.FLOOR)
def manifest(run_id: int) -> Response:
    """Show the manifest, ready for the browser's own printing."""
    seen = manifest_of(unit(), run_id)
    return page("manifest", manifest=seen, links=_links(seen))


@require_role(Role.FLOOR)
def manifest_pdf(run_id: int) -> Response:
    """Return the manifest as a PDF, A4 or US Letter."""
    seen = manifest_of(unit(), run_id)
    sheet = render_template("counter/manifest.html", manifest=seen, links=_links(seen))
    return as_pdf([sheet], f"strip-run-{run_id}-manifest.pdf")


def _links(seen: Manifest) -> dict[str, str]:
    return {
        "run": url_for("counter.run", run_id=seen.id),
        "a4": url_for("counter.manifest_pdf", run_id=seen.id, size="a4"),
        "letter": url_for("counter.manifest_pdf", run_id=seen.id, size="letter"),
    }
