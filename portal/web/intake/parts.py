"""Parts: what are you bringing? One form a set; several sets stand as a list."""

from dataclasses import dataclass, replace
from typing import Any

from flask import redirect, url_for
from flask.typing import ResponseReturnValue
from flask_babel import lazy_gettext as _l
from markupsafe import Markup
from wtforms import HiddenField, MultipleFileField

from portal.craft.markings import (
    read_rim,
    read_tyre,
    rim_from_tyre,
    tyre_on_rim,
    usual_width,
)
from portal.craft.parts import FaceStyle, Metal, PartKind, PartSet, Rim, Tyre, WheelBuild
from portal.craft.say import Said, say
from portal.orders import drafting
from portal.orders.draft_answers import Answers, Step
from portal.orders.looking_draft import DraftSeen
from portal.web.intake.fields import ReadField, length_mm, length_text, plain
from portal.web.intake.page import (
    Bundle,
    PageForm,
    enter,
    keep,
    onward,
    page_url,
    pressed,
    show,
)
from portal.web.intake.photos import take_photos
from portal.web.kit.desk import shop, unit
from portal.web.kit.forms import CountField, Needed, OneField, PickField, TextField
from portal.web.kit.pictures.kept import kept
from portal.web.kit.pictures.parts import part
from portal.web.kit.pictures.wheel import wheel

STEP = Step.PARTS
MOST = 40
DIAMETERS = [("", _l("I don't know"))] + [
    (str(d), _l("%(size)s inches", size=d)) for d in range(12, 25)
]
METALS = [m for m in Metal if m not in (Metal.CAST_IRON, Metal.ZINC_DIECAST)]
BUILD_SAYS = {
    WheelBuild.CAST.value: say("most alloy wheels"),
    WheelBuild.FORGED.value: say("light, often marked FORGED"),
    WheelBuild.STEEL.value: say("a magnet sticks"),
    WheelBuild.MULTI_PIECE.value: say("a ring of small bolts around the face"),
    WheelBuild.MAGNESIUM.value: say("racing cars and very old sports cars; marked MG"),
    WheelBuild.CHROME_PLATED.value: say("shiny like a mirror all over"),
    WheelBuild.CARBON.value: say("a woven pattern under the clear coat"),
}


@dataclass(frozen=True, slots=True)
class Reading:
    """What a marking was understood as, what was assumed for it, or what is wrong with it."""

    understood: tuple[Said, ...] = ()
    assumed: tuple[Said, ...] = ()
    wrong: tuple[Said, ...] = ()


class PartsForm(PageForm):
    """One set. What is asked depends on the kind; the page hides what does not belong to it."""

    key = HiddenField()
    kind = OneField(
        _l("What kind of parts are they?"),
        [Needed(_l("Choose what kind of parts you are bringing."))],
        choices=PartKind,
        default=PartKind.WHEEL.value,
    )  # fmt: skip
    count = CountField(
        _l("How many?"),
        [Needed(_l("Enter how many there are."))],
        high=MOST,
        default=4,
    )
    rim_text = TextField(_l("Rim marking (size)"), longest=60, filters=[plain])
    tyre_text = TextField(_l("Tyre size"), longest=60, filters=[plain])
    diameter = PickField(_l("Or just the diameter"), choices=DIAMETERS, default="")
    build = OneField(_l("How are they made?"), choices=WheelBuild)
    face = OneField(
        _l("Which look most like yours?"), choices=FaceStyle, default=FaceStyle.FEW_SPOKES.value
    )
    metal = OneField(_l("Which metal?"), choices=Metal, default=Metal.UNKNOWN.value)
    length = ReadField(_l("Length"), reader=length_mm, writer=length_text)
    width = ReadField(_l("Width"), reader=length_mm, writer=length_text)
    height = ReadField(_l("Height"), reader=length_mm, writer=length_text)
    photos = MultipleFileField(_l("Photos (optional)"))

    def validate(self, extra_validators: Any = None) -> bool:
        """Check what belongs to the chosen kind."""
        good = bool(super().validate(extra_validators))
        wheel = self.kind.data == PartKind.WHEEL.value
        return (self._check_wheel() if wheel else self._check_size()) and good

    def _check_wheel(self) -> bool:
        good = True
        self.rim, self.tyre = self._read_rim(), self._read_tyre()
        if not (self.rim_text.data or self.tyre_text.data or self.diameter.data):
            good = self.blame(
                "rim_text",
                _l(
                    "Enter the rim marking, the tyre size or the "
                    "diameter. If you can't find any of them, choose "
                    "“I don't know”."
                ),
            )
        if self.rim and self.tyre and not self.errors.keys() & {"rim_text", "tyre_text"}:
            fit = tyre_on_rim(self.tyre, self.rim)
            if fit.belongs is False:
                good = self.blame("tyre_text", fit.says)
        if not self.build.data:
            good = self.blame("build", _l("Choose how they are made. “Don't know” is fine."))
        return good and not self.errors.keys() & {"rim_text", "tyre_text"}

    def _read_rim(self) -> Rim | None:
        if not self.rim_text.data:
            return None
        read = read_rim(self.rim_text.data)
        self._doubt("rim_text", read.rim, read.impossible, read.where)
        return None if read.impossible else read.rim

    def _read_tyre(self) -> Tyre | None:
        if not self.tyre_text.data:
            return None
        read = read_tyre(self.tyre_text.data)
        self._doubt("tyre_text", read.tyre, read.impossible, read.where)
        return None if read.impossible else read.tyre

    def _doubt(self, name: str, found: Any, impossible: Any, where: Said | None) -> None:
        if impossible:
            self.blame(name, impossible[0])
        elif found is None:
            self.blame(name, where or _l("We can't read this. Check it."))

    def _check_size(self) -> bool:
        good = True
        for field in (self.length, self.width, self.height):
            if field.data is None and not field.errors:
                good = self.blame(field.short_name, _l("Enter a length. A rough one is enough."))
        return good

    def size_of_wheel(self) -> Rim | None:
        """The rim as marked, or as the tyre or the diameter tells it."""
        if self.rim:
            return self.rim
        if self.tyre:
            return rim_from_tyre(self.tyre)
        if self.diameter.data:
            code = float(self.diameter.data)
            return Rim(diameter_code=code, width_code=usual_width(code))
        return None

    def part_set(self, before: PartSet | None) -> PartSet:
        """Return the set as told here; what other pages told is kept while the kind is the same."""
        kind = PartKind(self.kind.data)
        fresh = PartSet(key=self.key.data or "A", kind=kind, count=self.count.data or 1)
        base = before if before and before.kind is kind else fresh
        told = replace(base, count=self.count.data or 1)
        if kind is PartKind.WHEEL:
            return replace(
                told,
                rim=self.size_of_wheel(),
                tyre=self.tyre,
                rim_text=self.rim_text.data or "",
                tyre_text=self.tyre_text.data or "",
                build=WheelBuild(self.build.data) if self.build.data else None,
                face=FaceStyle(self.face.data or FaceStyle.FEW_SPOKES),
            )
        sides = (self.length.data, self.width.data, self.height.data)
        metal = Metal(self.metal.data or Metal.UNKNOWN)
        return replace(told, metal=metal, size_mm=sides if all(sides) else None)


def parts(token: str) -> ResponseReturnValue:
    """Show the sets, or the first form; going on leads to the next page."""
    seen = enter(token, STEP)
    if not seen.sets:
        return _ask(seen, "new")
    form = Bundle(PageForm())
    if form.sent and form.validate():
        return onward(seen, STEP)
    return show("intake/parts.html", seen, STEP, form, stock=shop().stock)


def one_set(token: str, key: str) -> ResponseReturnValue:
    """Ask for one set: a new one, or one that was told before."""
    return _ask(enter(token, STEP), key)


def _ask(seen: DraftSeen, key: str) -> ResponseReturnValue:
    before = seen.answers.set_of(key)
    if key != "new" and before is None:
        return redirect(page_url(seen.token, STEP), 303)
    form = build(seen, before)
    bundle = Bundle(form)
    if pressed("unwanted"):
        drafting.remove_photo(unit(), seen.token, pressed("unwanted"))
        seen = enter(seen.token, STEP)
    elif form.is_submitted():
        good = bundle.validate()
        # a photo is kept even when something else is wrong, or it would have to be chosen again
        good = take_photos(seen, form) and good
        seen = enter(seen.token, STEP)
        if good:
            another = url_for("intake.one_set", token=seen.token, key="new")
            stay = another if pressed("then") == "another" else ""
            place = f"set:{form.key.data}"
            gone_on = keep(seen, place, bundle, change_of(form), step=STEP, stay=stay)
            if gone_on:
                return gone_on
    return show("intake/one_set.html", seen, STEP, bundle, before=before, **shown(form))


def shown(form: "PartsForm") -> dict[str, Any]:
    """Return what the page shows beside its fields."""
    kinds, faces = kept("kinds and faces", _art)
    return {
        "kind_art": kinds,
        "face_art": faces,
        "build_says": BUILD_SAYS,
        "reads": readings(form),
    }


def _art() -> tuple[dict[str, Markup], dict[str, Markup]]:
    """Draw every kind of part and every face of a wheel, as they stand beside their choices."""
    kinds = {
        k.value: part(PartSet(key="A", kind=k, count=1), {}, 72, named=False) for k in PartKind
    }
    faces = {
        f.value: wheel(PartSet(key="A", kind=PartKind.WHEEL, count=1, face=f), {}, 72, named=False)
        for f in FaceStyle
    }
    return kinds, faces


def readings(form: PartsForm) -> dict[str, Reading]:
    """Return what the two markings of the form say, by field."""
    found = {}
    if form.rim_text.data:
        rim = read_rim(form.rim_text.data)
        wrong = rim.impossible or (() if rim.rim else (rim.where,))
        found["rim_text"] = Reading(rim.understood, rim.assumed, tuple(filter(None, wrong)))
    if form.tyre_text.data:
        tyre = read_tyre(form.tyre_text.data)
        wrong = tyre.impossible or (() if tyre.tyre else (tyre.where,))
        found["tyre_text"] = Reading(tyre.understood, tyre.assumed, tuple(filter(None, wrong)))
    return found


def build(seen: DraftSeen, before: PartSet | None) -> PartsForm:
    """Return the form of one set, filled from the draft on the first look."""
    key = before.key if before else next_key(seen.answers)
    form = PartsForm.of(seen, f"set:{key}", filled(before) if before else None)
    if before:
        form.key.data = before.key
    elif not (form.key.data and form.key.data.isalnum() and len(form.key.data) == 1):
        form.key.data = next_key(seen.answers)
    return form


def filled(part_set: PartSet) -> dict[str, Any]:
    """Return a set as the values of its form."""
    length, width, height = part_set.size_mm or (None, None, None)
    alone = part_set.rim and not (part_set.rim_text or part_set.tyre_text)
    return {
        "key": part_set.key,
        "kind": part_set.kind.value,
        "count": part_set.count,
        "rim_text": part_set.rim_text,
        "tyre_text": part_set.tyre_text,
        "diameter": f"{part_set.rim.diameter_code:g}" if part_set.rim and alone else "",
        "build": part_set.build.value if part_set.build else None,
        "face": part_set.face.value,
        "metal": part_set.metal.value,
        "length": length,
        "width": width,
        "height": height,
    }


def next_key(answers: Answers) -> str:
    """Return the first letter that no set has."""
    used = {s.key for s in answers.declared.sets}
    return next(c for c in "ABCDEFGHIJKLMNOPQRSTUVWXYZ" if c not in used)


def change_of(form: PartsForm) -> drafting.Change:
    """Return what saving this form does to the answers."""

    def change(answers: Answers) -> Answers:
        before = answers.set_of(str(form.key.data))
        told = form.part_set(before)
        sets = [told if s.key == told.key else s for s in answers.declared.sets]
        if before is None:
            sets.append(told)
        saved = dict(answers.saved)
        if before is not None and before.kind is not told.kind:
            saved.pop(f"fitted:{told.key}", None)
        return replace(answers, declared=replace(answers.declared, sets=tuple(sets)), saved=saved)

    return change


def remove_set(token: str, key: str) -> ResponseReturnValue:
    """Take a set out of the order."""
    form = PageForm()
    seen = enter(token, STEP)
    if form.validate_on_submit():
        drafting.remove_set(unit(), seen.token, key)
    return redirect(page_url(seen.token, STEP), 303)
