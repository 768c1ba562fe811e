"""The form of one set: the questions depend on the kind, and "don't know" is an answer."""

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from flask_babel import lazy_gettext as _l
from wtforms import HiddenField, MultipleFileField

from portal.craft.facts import CAN_BE_CLOSED
from portal.craft.geometry import usual_size
from portal.craft.markings import ReadSize, read_size, rim_from_tyre, tyre_on_rim
from portal.craft.parts import (
    LONGEST_WHAT,
    Closed,
    FaceStyle,
    Making,
    Metal,
    PartKind,
    PartSet,
    Rim,
    Tyre,
    WheelBuild,
)
from portal.web.intake.page import StepForm
from portal.web.kit.forms import (
    MOST_ECHOED,
    CheckboxField,
    CountField,
    MultiCheckboxField,
    RadioChoiceField,
    Required,
    TextField,
    cut,
)
from portal.web.kit.sides import Sides, odd_side, read_sides
from portal.web.kit.typed_text import plain

MOST = 40
FOUR = 4  # wheels of a car
SIDES = ("length", "width", "height")
# the commonest first; what isn't forged for strength is bent or welded from sheet and profiles
METALS = [
    (Metal.STEEL.value, _l("Steel")),
    (Metal.FORGED_ALUMINIUM.value, _l("Aluminium, not cast")),
    *(
        (one.value, _l(one.title))
        for one in Metal
        if one not in (Metal.STEEL, Metal.FORGED_ALUMINIUM)
    ),
]
OF_WHEELS = frozenset({"size", "size_open", "build", "face"})
OF_OTHERS = frozenset({"what", "made", "metal", *SIDES, "sides_open", "sure", "closed"})
OPEN_SIZE = _l("I don't know the size: measure them for me")


class PiecesField(CountField):
    """How many. Asked separately for wheels and other parts: only wheels usually come in fours."""

    def process(self, formdata: Any, data: Any = None, extra_filters: Any = None) -> None:
        """Take the number beside the chosen kind."""
        self.wheel = self.other = ""
        super().process(formdata, data, extra_filters)
        if formdata is not None and self.name in formdata:
            sent = [cut(one, MOST_ECHOED) for one in formdata.getlist(self.name)]
            self.other, self.wheel = sent[0], sent[-1]
            kind = formdata.get(self.name.removesuffix(self.short_name) + "kind")
            chosen = self.wheel if kind == PartKind.WHEEL.value else self.other
            self.raw_data, self.process_errors = [chosen], []
            try:
                self.process_formdata(self.raw_data)
            except ValueError as problem:
                self.process_errors.append(problem.args[0])


class SetForm(StepForm):
    """One set. The questions depend on the kind; the page hides the others."""

    key = HiddenField()
    kind = RadioChoiceField(
        _l("What kind of parts are they?"),
        [Required(_l("Choose what kind of parts you are bringing."))],
        choices=PartKind,
        default=PartKind.WHEEL.value,
    )  # fmt: skip
    count = PiecesField(_l("How many?"), [Required(_l("Enter how many there are."))], high=MOST)
    size = TextField(_l("What size?"), longest=80, filters=[plain])
    size_open = CheckboxField(OPEN_SIZE)
    build = RadioChoiceField(_l("What are they made of?"), choices=WheelBuild)
    face = RadioChoiceField(_l("Which looks most like yours?"), choices=FaceStyle)
    what = TextField(_l("What is it?"), longest=LONGEST_WHAT, filters=[plain])
    made = RadioChoiceField(_l("How is it built?"), choices=Making, default=Making.UNKNOWN.value)
    metal = RadioChoiceField(_l("Which metal?"), choices=METALS, default=Metal.UNKNOWN.value)
    length = TextField(_l("Length"), longest=40, filters=[plain])
    width = TextField(_l("Width"), longest=40, filters=[plain])
    height = TextField(_l("Height"), longest=40, filters=[plain])
    sides_open = CheckboxField(OPEN_SIZE)
    sure = CheckboxField(_l("Yes, that's right"))
    closed = MultiCheckboxField(_l("Is one of these part of it?"), choices=Closed)
    photos = MultipleFileField(_l("Photos (optional)"))

    def process(self, *args: Any, **kwargs: Any) -> None:
        """Parse the form, and put the readings of the sizes beside the fields."""
        super().process(*args, **kwargs)
        self.read: ReadSize | None = read_size(self.size.data) if self.size.data else None
        self.sides: Sides | None = None
        typed = [self[name].data or "" for name in SIDES]
        if any(typed):
            self.sides = read_sides(typed)
        self.odd = ""
        if not self.is_wheel and self.told_kind and self.sides and self.sides.size:
            self.odd = odd_side(self.told_kind, self.sides.size) or ""

    @property
    def told_kind(self) -> PartKind | None:
        """The chosen kind, if valid."""
        return PartKind(self.kind.data) if self.kind.data in set(PartKind) else None

    @property
    def not_asked(self) -> frozenset[str]:
        """The fields that the page hides for the chosen kind."""
        return OF_OTHERS if self.is_wheel else OF_WHEELS

    @property
    def can_be_priced(self) -> bool:
        """Whether a validated form lacks at most what its price doesn't depend on."""
        return self.told_kind is not None and self.errors.keys() <= {"what", "closed"}

    @property
    def is_wheel(self) -> bool:
        return bool(self.kind.data == PartKind.WHEEL.value)

    def validate(self, extra_validators: Any = None) -> bool:
        """Validate what belongs to the chosen kind."""
        good = bool(super().validate(extra_validators))
        if self.told_kind is None:
            return False
        return (self._check_wheel() if self.is_wheel else self._check_other()) and good

    def _check_wheel(self) -> bool:
        good = self._check_size()
        if not self.build.data:
            good = self.add_error("build", _l("Choose how they are made. “Don't know” is fine."))
        return good

    def _check_size(self) -> bool:
        if self.size_open.data:
            return True
        if self.read is None:
            return self.add_error(
                "size", _l("Enter the size, or tick “I don't know the size” below it.")
            )
        if self.read.wrong:
            return self.add_error("size", self.read.wrong[0])
        rim, tyre = self.rim, self.tyre
        fit = tyre_on_rim(tyre, rim) if rim and tyre else None
        return fit is None or fit.belongs is not False or self.add_error("size", fit.says)

    def _check_other(self) -> bool:
        good = self._check_sides()
        if self.told_kind is PartKind.OTHER and not self.what.data:
            good = self.add_error("what", _l("Enter what it is, such as “lamp base”."))
        ticked = self.closed.data or []
        if self.told_kind in CAN_BE_CLOSED and not ticked:
            good = self.add_error("closed", _l("Choose what applies, or “None of these”."))
        elif Closed.NONE in ticked and len(ticked) > 1:
            good = self.add_error("closed", _l("Choose “None of these” alone, or leave it out."))
        return good

    def _check_sides(self) -> bool:
        if self.sides_open.data:
            return True
        if self.sides is None:
            known = self.told_kind and usual_size(self.told_kind)
            return bool(known) or self.add_error(
                "length", _l("Enter a rough size, or tick “I don't know the size” below it.")
            )
        for n, sentence in self.sides.wrong.items():
            self.add_error(SIDES[n], sentence)
        if self.sides.wrong:
            return False
        if self.odd and not self.is_sure:
            return self.add_error(
                "sure",
                _l(
                    "Is one part really %(size)s long? Correct the size, or tick "
                    "“Yes, that's right”.",
                    size=self.odd,
                ),
            )
        return True

    @property
    def is_sure(self) -> bool:
        """Whether the customer has confirmed this unusual size."""
        return bool(self.sides and self.sides.mark in (self.sure.raw_data or ()))

    @property
    def rim(self) -> Rim | None:
        """The rim as marked, or as derived from the tyre."""
        if self.read is None or self.read.wrong:
            return None
        if self.read.rim:
            return self.read.rim.rim
        return rim_from_tyre(self.tyre) if self.tyre else None

    @property
    def tyre(self) -> Tyre | None:
        """The tyre as marked."""
        return self.read.tyre.tyre if self.read and self.read.tyre else None

    def part_set(self, before: PartSet | None) -> PartSet:
        """Return the set; answers of other pages are kept while the kind is unchanged."""
        kind = PartKind(self.kind.data)
        fresh = PartSet(key=self.key.data or "A", kind=kind, count=self.count.data or 1)
        base = before if before and before.kind is kind else fresh
        declared = replace(base, count=self.count.data or 1)
        return self._wheels(declared) if self.is_wheel else self._parts(declared)

    def _wheels(self, declared: PartSet) -> PartSet:
        read = self.read or ReadSize()
        return replace(
            declared,
            rim=self.rim,
            tyre=self.tyre if self.rim else None,
            rim_text=read.rim_text,
            tyre_text=read.tyre_text,
            build=_word(WheelBuild, self.build.data, None),
            face=_word(FaceStyle, self.face.data, None),
        )

    def _parts(self, declared: PartSet) -> PartSet:
        loose = declared.kind is PartKind.OTHER
        return replace(
            declared,
            metal=_word(Metal, self.metal.data, Metal.UNKNOWN),
            size_mm=self.sides.size if self.sides else None,
            what=(self.what.data or "") if loose else "",
            made=_word(Making, self.made.data if loose else None, Making.UNKNOWN),
            closed=_in_order(self.closed.data or ()) if declared.kind in CAN_BE_CLOSED else (),
        )


def _word(kind: Any, value: Any, usual: Any) -> Any:
    """Return the chosen word, or the default where it isn't one of those offered."""
    return kind(value) if value in set(kind) else usual


def _in_order(ticked: Iterable[str]) -> tuple[Closed, ...]:
    return tuple(one for one in Closed if one.value in set(ticked))
