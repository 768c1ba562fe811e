"""Late jobs, and exports as CSV."""

import tempfile
from functools import partial
from typing import Any

from flask import Response, render_template, send_file, stream_with_context

from portal.orders.kernel.heartbeat import mail_worker
from portal.orders.office import export
from portal.orders.office import late as late_records
from portal.orders.office.powders import powders
from portal.orders.planning.promises import held_up_most, promises_kept
from portal.render.csv_file import csv_pieces
from portal.shop.roles import Role
from portal.web.kit.http.guards import require_role, the_person
from portal.web.kit.i18n.languages import reader
from portal.web.kit.request_context import unit

SPOOL = 8_000_000


@require_role(Role.OFFICE)
def late() -> Any:
    """Show the jobs that will miss their promise, and what else needs the office."""
    here = unit()
    return render_template(
        "office/late.html",
        late=late_records.late_jobs(here),
        promises=promises_kept(here),
        held_up=held_up_most(here),
        low=[one for one in powders(here) if one.low],
        mail=mail_worker(here),
    )


@require_role(Role.OFFICE)
def take_away() -> Any:
    """List the tables."""
    return render_template("office/take_away.html", tables=export.tables())


@require_role(Role.OFFICE)
def table(name: str) -> Any:
    """Send one table as CSV."""
    found = export.exported(unit(), name)
    return Response(
        stream_with_context(csv_pieces(found.heads, found.rows, reader())),
        mimetype="text/csv",
        headers={"Content-Disposition": f"attachment; filename={name}.csv"},
    )


@require_role(Role.OFFICE)
def everything() -> Any:
    """Send every table in one archive."""
    # closed by the server once it has been sent
    spool = tempfile.SpooledTemporaryFile(max_size=SPOOL)  # noqa: SIM115  # closed after sending
    write = partial(csv_pieces, reader=reader())
    export.write_everything(unit(), spool, write, who=the_person().person_id)
    spool.seek(0)
    name = f"office-{unit().now():%Y-%m-%d}.zip"
    response = send_file(spool, "application/zip", as_attachment=True, download_name=name)
    response.headers["Cache-Control"] = "no-store"
    return response
