"""A check: how it is done, its result for the parts of a set, and what the office decides."""

from collections.abc import Sequence
from typing import Any

from flask import flash, request
from flask_babel import gettext as _
from werkzeug.wrappers import Response

from portal.craft.check_kinds import CheckKind
from portal.craft.messages import Message
from portal.orders.counter import checks as verbs
from portal.orders.counter.checks_view import CheckGroup
from portal.orders.counter.finding_impact import FindingImpact
from portal.orders.counter.job_view import JobView
from portal.orders.kernel.errors import Refusal, Unknown
from portal.shop.money import Money
from portal.shop.roles import Role
from portal.web.counter.desk import WRONG, job_of, me, page, to
from portal.web.kit.http.guards import require_role
from portal.web.kit.i18n.languages import label
from portal.web.kit.request_context import unit

MOST_PARTS = 400


@require_role(Role.FLOOR)
def check(code: str, kind: str) -> Response:
    """Show a check; a POST records its result. What asks the customer is shown first."""
    job = job_of(code)
    group = _group(job, kind)
    parts = _parts(group)
    result = request.values.get("result", "")
    if request.method == "GET":
        return _checks_page(job, group, parts, result)
    sure = request.form.get("do") == "record"
    outcome = group.row.result(result)
    if outcome is not None and outcome.positive and not sure:
        return _checks_page(job, group, parts, result, status=200)
    try:
        recorded = verbs.record_check(
            unit(),
            job.id,
            group.kind,
            result,
            parts,
            note=request.form.get("note", ""),
            once_token=request.form.get("once", ""),
            who=me(),
        )
    except Refusal as refusal:
        return _checks_page(job, group, parts, result, wrong=refusal, status=WRONG)
    flash(_said(group.kind, asked=recorded["asked"]), "go")
    return _back(code)


def _said(kind: CheckKind, *, asked: bool) -> Any:
    if asked:
        return _("%(check)s: recorded. We have asked the customer how to go on.", check=label(kind))
    return _("%(check)s: recorded.", check=label(kind))


@require_role(Role.OFFICE)
def override(code: str, kind: str) -> Response:
    """Let parts go on without a result, or have the check done again."""
    job = job_of(code)
    group = _group(job, kind)
    try:
        verbs.override_check(
            unit(),
            job.id,
            group.kind,
            _sent(),
            go_on=request.form.get("do") == "go_on",
            reason=request.form.get("reason", ""),
            who=me(),
        )
    except Refusal as refusal:
        return _checks_page(job, group, _parts(group), "", wrong=refusal, status=WRONG)
    flash(_("Recorded, with your reason."), "go")
    return to("check", code=code, kind=kind, set=group.set_key, back=_back_text())


def _checks_page(
    job: JobView,
    group: CheckGroup,
    parts: Sequence[int],
    result: str,
    *,
    wrong: Refusal | None = None,
    status: int = 200,
) -> Response:
    chosen = group.row.result(result)
    weighed = None
    if chosen is not None and chosen.positive and parts and wrong is None:
        try:
            weighed = verbs.weigh_check(unit(), job.id, group.kind, result, parts)
        except Refusal as refusal:
            wrong, status = refusal, WRONG
    return page(
        "check",
        status,
        job=job,
        group=group,
        parts=parts,
        chosen=chosen if wrong is None else None,
        weighed=weighed,
        amount=_amount(weighed, job),
        wrong=wrong,
        note_typed=request.values.get("note", "")[:300],
        reason=request.form.get("reason", ""),
        back=_back_text(),
        back_url=_back(job.row.code).location,
    )


def _amount(weighed: FindingImpact | None, job: JobView) -> Money | None:
    return Money(weighed.amount_minor, job.row.currency) if weighed else None


def _group(job: JobView, word: str) -> CheckGroup:
    """Return the lines that the address names: of a set, of the set of a part, or the first."""
    own = [one for one in job.checks if one.kind.value == word]
    key = request.values.get("set", "")
    part = request.values.get("part", "")
    for one in own:
        if key == one.set_key or part in {str(line.part_id) for line in one.lines}:
            return one
    still = [one for one in own if one.open] or own
    if not still:
        raise Unknown(Message("This job has no such test."))
    return still[0]


def _parts(group: CheckGroup) -> list[int]:
    """Return the parts that are ticked: those that were sent, or all whose line is due."""
    if request.method == "POST":
        return _sent()
    return [line.part_id for line in group.due]


def _sent() -> list[int]:
    texts = request.form.getlist("part")[:MOST_PARTS]
    return [int(one) for one in texts if one.isdecimal() and len(one) < 12]


def _back_text() -> str:
    return request.values.get("back", "")[:40]


def _back(code: str) -> Response:
    """Return where the reader came from: a station of the floor, a run, check-in, or the job."""
    place, _colon, rest = _back_text().partition(":")
    if place == "floor":
        return to("floor", at=rest or None)
    if place == "run" and rest.isdecimal():
        return to("run", run_id=int(rest[:9]))
    if place in ("oven", "today"):
        return to(place)
    return to("check_in" if place == "check-in" else "job", code=code)
