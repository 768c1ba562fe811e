"""Strip runs: gather, send, count back; and the list that goes with them."""

from datetime import date
from typing import Any

from flask import flash, render_template, request, url_for
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from werkzeug.wrappers import Response

from portal.orders.kernel.errors import Refusal
from portal.orders.production import strip_runs as verbs
from portal.orders.production.batches_view import run_view, runs
from portal.orders.production.manifest_view import Manifest
from portal.orders.production.manifest_view import manifest as manifest_of
from portal.shop.roles import Role
from portal.shop.states import RunState
from portal.web.counter.desk import WRONG, add_error, attempt, counted_parts, me, page, to
from portal.web.kit.forms import PageForm, Required, TextField
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role
from portal.web.kit.paper.printing import as_pdf
from portal.web.kit.request_context import unit

KEYS_OF_DAY = {"type": "date"}


class RunForm(PageForm):
    """When a run leaves and comes back."""

    leaves_on = TextField(
        _l("Leaves on"), [Required(_l("Enter when it leaves."))], longest=10, render_kw=KEYS_OF_DAY
    )
    back_on = TextField(
        _l("Back on"),
        [Required(_l("Enter when it comes back."))],
        longest=10,
        render_kw=KEYS_OF_DAY,
    )


@require_role(Role.FLOOR)
@checks_its_form
def all_runs() -> Response:
    """Show the runs; open a new one."""
    view = runs(unit())
    form = RunForm(
        data={"leaves_on": view.leaves_on.isoformat(), "back_on": view.back_on.isoformat()}
    )
    if form.validate_on_submit():
        days = _day(form, "leaves_on"), _day(form, "back_on")
        if days[0] and days[1]:
            try:
                run_id = verbs.open_run(unit(), days[0], days[1], who=me())
            except Refusal as refusal:
                add_error(form, refusal)
            else:
                return to("run", run_id=run_id)
    return page("runs", WRONG if form.errors else 200, runs=view, form=form)


@require_role(Role.FLOOR)
def run(run_id: int) -> Response:
    """Show what is in a run, or what is back."""
    view = run_view(unit(), run_id)
    open_here = view.state is not RunState.BACK
    waiting = runs(unit()).candidates if view.state is RunState.GATHERING else ()
    return page("run", where=f"run:{run_id}" if open_here else "", run=view, candidates=waiting)


@require_role(Role.FLOOR)
def gather(run_id: int) -> Response:
    """Put tags into a run by tap."""
    tags = request.form.getlist("tag")[:100]

    def work() -> Any:
        for tag in tags:
            verbs.gather(unit(), run_id, tag, who=me())
        return _("%(parts)s in the run.", parts=counted_parts(len(tags)))

    return attempt(work, to("run", run_id=run_id), back=f"run:{run_id}")


@require_role(Role.FLOOR)
def take_out(run_id: int) -> Response:
    """Take one part out of a run."""
    part = request.form.get("part", "")
    part_id = int(part) if part.isdecimal() and len(part) < 12 else 0
    return attempt(
        lambda: verbs.take_out(unit(), run_id, part_id, who=me()), to("run", run_id=run_id)
    )


@require_role(Role.FLOOR)
def send(run_id: int) -> Response:
    def work() -> Any:
        return _("%(parts)s sent off.", parts=counted_parts(verbs.send(unit(), run_id, who=me())))

    return attempt(work, to("run", run_id=run_id), back=f"run:{run_id}")


@require_role(Role.FLOOR)
def close(run_id: int) -> Response:
    """End the count of a run, and name what is missing."""

    def work() -> Any:
        missing = verbs.close(unit(), run_id, who=me())
        if not missing:
            return _("Everything is back. The run is closed.")
        for one in missing:
            flash(
                _("Missing: tag %(tag)s, part %(part)s of %(code)s. The job is marked.",
                  tag=one.tag or "–", part=one.number, code=one.code),
                "stop",
            )  # fmt: skip
        return None

    return attempt(work, to("run", run_id=run_id))


def _day(form: RunForm, name: str) -> date | None:
    try:
        return date.fromisoformat(str(form[name].data))
    except ValueError:
        form.add_error(name, _("Enter a date like 2026-06-03."))
        return None


@require_role(Role.FLOOR)
def manifest(run_id: int) -> Response:
    """Show the manifest, ready for the browser's own printing."""
    view = manifest_of(unit(), run_id)
    return page("manifest", manifest=view, links=_manifest_links(view))


@require_role(Role.FLOOR)
def manifest_pdf(run_id: int) -> Response:
    """Return the manifest as a PDF, A4 or US Letter."""
    view = manifest_of(unit(), run_id)
    sheet = render_template("counter/manifest.html", manifest=view, links=_manifest_links(view))
    return as_pdf([sheet], f"strip-run-{run_id}-manifest.pdf")


def _manifest_links(view: Manifest) -> dict[str, str]:
    return {
        "run": url_for("counter.run", run_id=view.id),
        "a4": url_for("counter.manifest_pdf", run_id=view.id, size="a4"),
        "letter": url_for("counter.manifest_pdf", run_id=view.id, size="letter"),
    }
