"""Inspection of a whole set on one page: a gauge that types walks from part to part."""

from collections.abc import Sequence
from typing import Any, cast

from flask import flash, request
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from werkzeug.wrappers import Response

from portal.craft.inspection import (
    LEAST_READINGS,
    adhesion_classes,
    cut_spacing_mm,
    no_cross_cut,
    spots_needed,
)
from portal.orders.counter.job_view import JobView, PartView
from portal.orders.kernel.errors import Refusal
from portal.orders.production.inspecting import LONGEST_REASON, Looked, TooThick
from portal.orders.production.inspecting_set import MeasuredSet, SetResult, inspect_set
from portal.orders.production.readings import read_readings
from portal.shop.roles import Role
from portal.shop.route import INSPECTION
from portal.web.counter import gauge
from portal.web.counter.desk import WRONG, add_error, job_of, me, page, to
from portal.web.counter.finished_photo import keep
from portal.web.counter.inspect import THICK, means_of
from portal.web.kit.forms import (
    AreaField,
    CheckboxField,
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

EYE = [("yes", _l("Surface and colour of all parts OK")), ("no", _l("Some are not OK"))]


@require_role(Role.FLOOR)
@checks_its_form
def whole_set(code: str, set_key: str) -> Response:
    """Judge the readings of the parts of a set that wait for inspection."""
    job = job_of(code)
    parts = tuple(one for one in job.parts_of(set_key) if one.stage is INSPECTION and one.here)
    if not parts:
        flash(_("No part of this set waits for inspection."), "tell")
        return to("job", code=code)
    form = _form_of(parts)
    if not form.is_submitted():
        for part_id, text in gauge.of_set(request.args.get("readings", "")).items():
            if f"readings-{part_id}" in form:
                form[f"readings-{part_id}"].data = text
        return _inspect_set_page(job, set_key, parts, form)
    if form.validate() and _is_complete(form, parts):
        try:
            keep(job)
            done = inspect_set(
                unit(),
                [_measured(form, part) for part in _filled(form, parts)],
                once_token=str(form["once"].data or ""),
                who=me(),
            )
        except Refusal as refusal:
            add_error(form, refusal)
        else:
            return _after(job, parts, done)
    return _inspect_set_page(job, set_key, parts, form)


def _form_of(parts: Sequence[PartView]) -> OnceForm:
    """Return a form with the fields of these parts, and those of the whole set."""
    fields: dict[str, Any] = {
        "eye": RadioChoiceField(
            _l("By eye"), [Required(_l("Choose what you see: OK or not OK."))], choices=EYE
        ),
        "photo": PhotoField(_l("Photo of the finished parts"), camera=True),
        "adhesion": SelectChoiceField(
            _l("Adhesion, cross-cut class"),
            default="",
            choices=[("", _l("Not tested"))]
            + [(str(one.iso), f"{one.iso}: {render(one.says)}") for one in adhesion_classes()],
        ),
    }
    for part in parts:
        fields |= {
            f"readings-{part.id}": AreaField(
                _("Readings in µm, tag %(tag)s", tag=part.tag or part.number),
                longest=gauge.LONGEST,
            ),
            f"bad-{part.id}": CheckboxField(_l("Surface or colour not OK")),
            f"gloss_gu-{part.id}": CountField(_l("Gloss at 60°, in gloss units"), low=0, high=200),
            f"too_thick-{part.id}": RadioChoiceField(
                _l("The film is thicker than ordered"), choices=THICK
            ),
            f"because-{part.id}": TextField(_l("Why it is accepted"), longest=LONGEST_REASON),
        }
    return cast("OnceForm", type("SetForm", (OnceForm,), fields)())


def _filled(form: OnceForm, parts: Sequence[PartView]) -> tuple[PartView, ...]:
    return tuple(one for one in parts if (form[f"readings-{one.id}"].data or "").strip())


def _is_complete(form: OnceForm, parts: Sequence[PartView]) -> bool:
    filled = _filled(form, parts)
    if not filled:
        return form.add_error(f"readings-{parts[0].id}", _("Enter the film thickness readings."))
    bad = [one for one in filled if form[f"bad-{one.id}"].data]
    if form["eye"].data == "no" and not bad:
        return form.add_error("eye", _("Tick the parts that are not OK."))
    if form["eye"].data == "yes" and bad:
        return form.add_error("eye", _("A part is ticked as not OK. Choose which is right."))
    return True


def _measured(form: OnceForm, part: PartView) -> MeasuredSet:
    def own(name: str) -> Any:
        return form[f"{name}-{part.id}"].data

    try:
        spots = read_readings(own("readings") or "")
    except Refusal as refusal:
        refusal.key = f"readings-{part.id}"
        raise
    adhesion = form["adhesion"].data
    excluded = no_cross_cut(part.card.film_um[0], textured=part.card.textured)
    return MeasuredSet(
        part.id,
        spots,
        Looked(
            looks_good=not own("bad"),
            adhesion_class=int(adhesion) if adhesion and not excluded else None,
            gloss_gu=own("gloss_gu"),
            too_thick=TooThick(own("too_thick")) if own("too_thick") else None,
            because=own("because") or "",
        ),
    )


def _after(job: JobView, parts: Sequence[PartView], done: Sequence[SetResult]) -> Response:
    by_id = {one.id: one for one in parts}
    good = [one for one in done if one.accepted]
    if good:
        flash(
            _("Passed: %(tags)s.", tags=", ".join(_name(by_id[one.part_id]) for one in good)), "go"
        )
    wrong = [one for one in done if not one.accepted]
    for one in wrong:
        flash(f"{_name(by_id[one.part_id])}: {render(one.says)}", "stop")
    if wrong:
        return to("rework", part_id=wrong[0].part_id, fault=wrong[0].fault)
    return to("job", code=job.row.code, inspected=done[-1].part_id)


def _name(part: PartView) -> str:
    return part.tag or f"{part.number}"


def _inspect_set_page(
    job: JobView, set_key: str, parts: Sequence[PartView], form: OnceForm
) -> Response:
    card = parts[0].card
    excluded = no_cross_cut(card.film_um[0], textured=card.textured)
    return page(
        "inspect_set",
        WRONG if form.errors or form.form_errors else 200,
        where=gauge.here_set(job.row.code, set_key),
        job=job,
        set_key=set_key,
        parts=parts,
        form=form,
        rule=shop().inspection_rule,
        needed=spots_needed(card.area_m2),
        each=LEAST_READINGS,
        means={one.id: means_of(form[f"readings-{one.id}"].data or "") for one in parts},
        so_far=gauge.set_text({one.id: form[f"readings-{one.id}"].data or "" for one in parts}),
        excluded=excluded,
        spacing=None if excluded else cut_spacing_mm(card.film_um[0]),
    )
