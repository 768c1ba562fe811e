"""Inspection of one part: readings typed or from a gauge, a photo, a verdict."""

from typing import BinaryIO, cast

from flask import flash, request
from flask_babel import lazy_gettext as _l
from werkzeug.wrappers import Response
from wtforms import HiddenField

from portal.orders.counter.job_view import JobView, PartView, code_of_part
from portal.orders.kernel.errors import Refusal
from portal.orders.kernel.photos import Belongs, take_photo
from portal.orders.production import inspecting
from portal.shop.roles import Role
from portal.shop.route import INSPECTION
from portal.shop.states import PhotoPurpose
from portal.web.counter import gauge
from portal.web.counter.desk import WRONG, blame, job_of, me, page, to
from portal.web.kit.forms import (
    AreaField,
    CountField,
    OnceForm,
    PhotoField,
    RadioChoiceField,
    SelectChoiceField,
)
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role
from portal.web.kit.i18n.languages import render
from portal.web.kit.request_context import settings, shop, unit

# adhesion by cross-cut: 0 is best, 5 worst (ISO 2409)
ADHESION = [("", _l("Not tested")), *((str(n), str(n)) for n in range(6))]
EYE = [("yes", _l("Surface and colour OK")), ("no", _l("Surface or colour not OK"))]


class InspectForm(OnceForm):
    """What was measured and seen."""

    readings = AreaField(
        _l("Film thickness readings in µm"), longest=gauge.LONGEST, render_kw={"rows": 5}
    )
    eye = RadioChoiceField(_l("By eye"), choices=EYE, default="yes")
    adhesion = SelectChoiceField(_l("Adhesion, cross-cut class"), choices=ADHESION, default="")
    gloss = CountField(_l("Gloss at 60°, in gloss units"), low=0, high=120)
    photo = PhotoField(_l("Photo"))
    kept = HiddenField()


@require_role(Role.FLOOR)
@checks_its_form
def inspect(part_id: int) -> Response:
    """Judge the readings by the shop's rule, and say what follows."""
    job = job_of(code_of_part(unit(), part_id))
    part = next(one for one in job.parts if one.id == part_id)
    form = InspectForm()
    if not form.is_submitted():
        # what a gauge has typed into the scan field, without a script on the page
        form.readings.data = request.args.get("readings", "")[: gauge.LONGEST]
        return _page(job, part, form)
    _keep_photo(job, part, form)
    if form.validate():
        try:
            done = inspecting.inspect(
                unit(),
                part_id,
                inspecting.read_readings(form.readings.data or ""),
                looked=inspecting.Looked(
                    adhesion_class=int(form.adhesion.data) if form.adhesion.data else None,
                    gloss_gu=form.gloss.data,
                    photo=str(form.kept.data or "")[:32],
                ),
                looks_good=form.eye.data != "no",
                once_token=str(form.once.data or ""),
                who=me(),
            )
        except Refusal as refusal:
            blame(form, refusal)
        else:
            return _after(job, part, done)
    return _page(job, part, form)


def _after(job: JobView, part: PartView, done: inspecting.Inspected) -> Response:
    flash(render(done.says), "go" if done.accepted else "stop")
    if not done.accepted:
        return to("rework", part_id=part.id)
    following = next(
        (
            one
            for one in job_of(job.row.code).parts
            if one.stage is INSPECTION and one.id != part.id
        ),
        None,
    )
    if following is not None:
        return to("inspect", part_id=following.id)
    return to("job", code=job.row.code)


def _page(job: JobView, part: PartView, form: InspectForm) -> Response:
    return page(
        "inspect",
        WRONG if form.errors or form.form_errors else 200,
        job=job,
        part=part,
        form=form,
        rule=shop().inspection_rule,
        where=f"{gauge.PLACE}:{part.id}",
        tags_here=sorted(inspecting.tags_here(unit(), part.id)),
        asked=gauge.asked_about(part.id, form.readings.data or ""),
    )


def _keep_photo(job: JobView, part: PartView, form: InspectForm) -> None:
    sent = request.files.get("photo")
    if sent is None or not sent.filename:
        return
    try:
        form.kept.data = take_photo(
            unit(),
            cast("BinaryIO", sent.stream),
            Belongs(PhotoPurpose.INSPECTION, job_id=job.id, part_id=part.id),
            limit_mb=settings().photo_limit_mb,
        )
    except Refusal as refusal:
        blame(form, refusal)
