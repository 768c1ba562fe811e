"""Inspection of one part: readings typed or from a gauge, a photo, a verdict."""

from flask import flash, request
from flask_babel import lazy_gettext as _l
from werkzeug.wrappers import Response
from wtforms import HiddenField

from portal.craft.inspection import (
    LEAST_READINGS,
    adhesion_classes,
    cut_spacing_mm,
    no_cross_cut,
    spot_means,
    spots_needed,
)
from portal.orders.counter.job_view import JobView, PartView, code_of_part
from portal.orders.kernel.errors import Refusal
from portal.orders.production import inspecting
from portal.orders.production.inspecting import LONGEST_REASON, TooThick
from portal.orders.production.readings import read_readings
from portal.shop.roles import Role
from portal.shop.route import INSPECTION
from portal.web.counter import gauge
from portal.web.counter.desk import WRONG, add_error, job_of, me, page, to
from portal.web.counter.finished_photo import keep
from portal.web.kit.forms import (
    AreaField,
    CountField,
    OnceForm,
    PhotoField,
    RadioChoiceField,
    Required,
    SelectChoiceField,
    TextField,
)
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role
from portal.web.kit.i18n.languages import render
from portal.web.kit.request_context import shop, unit

EYE = [("yes", _l("Surface and colour OK")), ("no", _l("Surface or colour not OK"))]
THICK = [
    (TooThick.REWORK.value, _l("Send it to rework")),
    (TooThick.ACCEPT.value, _l("Accept it with its thick film")),
]


class InspectForm(OnceForm):
    """What was measured and seen."""

    readings = AreaField(
        _l("Film thickness readings in µm"),
        [Required(_l("Enter the film thickness readings."))],
        longest=gauge.LONGEST,
        render_kw={"rows": 6},
    )
    too_thick = RadioChoiceField(_l("The film is thicker than ordered"), choices=THICK)
    because = TextField(_l("Why it is accepted"), longest=LONGEST_REASON)
    eye = RadioChoiceField(
        _l("By eye"), [Required(_l("Choose what you see: OK or not OK."))], choices=EYE
    )
    adhesion = SelectChoiceField(_l("Adhesion, cross-cut class"), default="")
    gloss = CountField(_l("Gloss at 60°, in gloss units"), low=0, high=200)
    photo = PhotoField(_l("Photo of the finished parts"), camera=True)
    saved_photo = HiddenField()


@require_role(Role.FLOOR)
@checks_its_form
def inspect(part_id: int) -> Response:
    """Judge the readings by the shop's rule, and say what follows."""
    job = job_of(code_of_part(unit(), part_id))
    part = next(one for one in job.parts if one.id == part_id)
    form = InspectForm()
    form.adhesion.choices = [("", _l("Not tested"))] + [
        (str(one.iso), f"{one.iso}: {render(one.says)}") for one in adhesion_classes()
    ]
    if not form.is_submitted():
        # what a gauge has typed into the scan field, without a script on the page
        form.readings.data = request.args.get("readings", "")[: gauge.LONGEST]
        return _inspect_page(job, part, form)
    _keep_photo(job, part, form)
    if form.validate():
        try:
            done = inspecting.inspect(
                unit(),
                part_id,
                read_readings(form.readings.data or ""),
                looked=_looked(form),
                once_token=str(form.once.data or ""),
                who=me(),
            )
        except Refusal as refusal:
            add_error(form, refusal)
        else:
            return _after(job, part, done)
    return _inspect_page(job, part, form)


def _looked(form: InspectForm) -> inspecting.Looked:
    return inspecting.Looked(
        looks_good=form.eye.data == "yes",
        adhesion_class=int(form.adhesion.data) if form.adhesion.data else None,
        gloss_gu=form.gloss.data,
        photo=str(form.saved_photo.data or "")[:32],
        too_thick=TooThick(form.too_thick.data) if form.too_thick.data else None,
        because=form.because.data or "",
    )


def _after(job: JobView, part: PartView, done: inspecting.Inspected) -> Response:
    flash(render(done.says), "go" if done.accepted else "stop")
    if not done.accepted:
        return to("rework", part_id=part.id, fault=done.fault)
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
    return to("job", code=job.row.code, inspected=part.id)


def _inspect_page(job: JobView, part: PartView, form: InspectForm) -> Response:
    card = part.card
    excluded = no_cross_cut(card.film_um[0], textured=card.textured)
    return page(
        "inspect",
        WRONG if form.errors or form.form_errors else 200,
        where=gauge.here(part.id),
        job=job,
        part=part,
        form=form,
        rule=shop().inspection_rule,
        needed=spots_needed(card.area_m2),
        each=LEAST_READINGS,
        means=means_of(form.readings.data or ""),
        of_set=sum(one.stage is INSPECTION and one.here for one in job.parts_of(part.set_key)),
        excluded=excluded,
        spacing=None if excluded else cut_spacing_mm(card.film_um[0]),
    )


def means_of(typed: str) -> tuple[float, ...]:
    """Return the means of the spots so far; of what can't be read there is none."""
    try:
        return spot_means(read_readings(typed))
    except Refusal:
        return ()


def _keep_photo(job: JobView, part: PartView, form: InspectForm) -> None:
    try:
        form.saved_photo.data = keep(job, part.id) or form.saved_photo.data
    except Refusal as refusal:
        add_error(form, refusal)
