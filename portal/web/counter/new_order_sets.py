"""One set of a new order: a customer's fields of parts, old finish and finish, close together.

They are read by the same rules. What differs: what is on the parts is one answer, and a colour is
typed.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from flask_babel import lazy_gettext as _l

from portal.craft.bringing import NewTyres, Whereabouts
from portal.craft.messages import CraftError, Message
from portal.craft.offered import Stock, systems_offered
from portal.craft.parts import (
    Bringing,
    Damage,
    Declared,
    FinishChoice,
    Gloss,
    Item,
    PartKind,
    PartSet,
    Remover,
    System,
)
from portal.craft.removals import items_for
from portal.shop.assessment.defaults import sensible, usually_fitted
from portal.shop.colour_search import ColourSearch, NearestColour, find
from portal.web.intake import finish_form, on_them, parts
from portal.web.intake.comes_off import all_removals, who_for
from portal.web.intake.finish_form import FinishForm
from portal.web.intake.page import SetFormPart
from portal.web.intake.set_form import FOUR, SetForm
from portal.web.kit.forms import (
    CheckboxField,
    CountField,
    MultiCheckboxField,
    RadioChoiceField,
    TextField,
)
from portal.web.kit.i18n.languages import colour_name, label
from portal.web.kit.request_context import number_of

TYRES, TYRES_OFF, NOTHING, ON_CAR, EXACT = "tyres", "tyres_off", "bare", "car", "exact"
SHORT = {
    "kind": _l("Kind"),
    "size": _l("Size"),
    "size_open": _l("Size not known: we measure them"),
    "build": _l("Made of"),
    "metal": _l("Metal"),
    "closed": _l("Is one of these part of it?"),
    "layers": _l("Old finish"),
    "damage": _l("Damage"),
}
NEW_TYRES = [
    (NewTyres.SAME.value, _l("The same go back on")),
    (NewTyres.BRING.value, _l("New ones, brought along")),
    (NewTyres.LATER.value, _l("Fitted elsewhere later")),
]
ON_THEM = [
    (TYRES, _l("With tyres")),
    (TYRES_OFF, _l("Tyres off")),
    (NOTHING, _l("Bare")),
    (ON_CAR, _l("On the car")),
    (EXACT, _l("Something else")),
]


class ItemsForm(SetFormPart):
    """What is on the parts now. Wheels have usual cases; what is `exact` counts for all others."""

    on = RadioChoiceField(_l("On them now"), choices=ON_THEM)
    exact = MultiCheckboxField(_l("What is on them?"))
    new_tyres = RadioChoiceField(_l("Tyres"), choices=NEW_TYRES, default=NewTyres.SAME.value)

    def fitted(self, kind: PartKind) -> tuple[Item, ...]:
        """Return what is on parts of this kind."""
        usual = usually_fitted(PartKind.WHEEL, None)
        by_case = {
            TYRES: usual,
            ON_CAR: usual,
            TYRES_OFF: tuple(item for item in usual if item is not Item.TYRE),
        }
        if kind is PartKind.WHEEL and self.on.data != EXACT:
            return by_case.get(self.on.data, ())
        ticked = set(self.exact.data or ())
        return tuple(item for item in items_for(kind) if item.value in ticked)


class CoatsForm(SetFormPart):
    """The finish. `pick` is one of the colours that were found for what is typed in `near`."""

    same = CheckboxField(_l("The same finish as the first"))
    system = RadioChoiceField(_l("Coats"))
    gloss = RadioChoiceField(_l("Gloss"), choices=Gloss)
    near = TextField(_l("Colour"), longest=40)
    pick = RadioChoiceField(_l("Which one?"))
    sample = CheckboxField(_l("From a sample, at drop-off"))


@dataclass(slots=True)
class SetOnPage:
    """One set with its fields, what they were read as, and the colours found for it.

    `more` has the second colours and what else stays bare.
    """

    key: str
    what: SetForm
    layers: on_them.LayersForm
    items: ItemsForm
    coats: CoatsForm
    more: FinishForm
    part_set: PartSet
    reads: dict[str, parts.SizeReading]
    found: ColourSearch | None = None
    problem: Message | None = None

    def __iter__(self) -> Iterator[Any]:
        """Yield the forms that are validated, in the order of the page."""
        return iter((self.what, self.layers, self.items, self.coats))

    @property
    def priced(self) -> bool:
        """Whether enough was told for a price; nothing is blamed before the last press."""
        found = bool(self.what.validate()) or bool(self.what.can_be_priced)
        for field in self.what:
            field.errors = ()
        return found

    @property
    def colour_told(self) -> bool:
        """Whether there is a finish, or a choice from samples."""
        finish = self.part_set.finish
        return finish is not None and finish.answered


def read_set(page: Any, key: str, before: Sequence[SetOnPage], stock: Stock) -> SetOnPage:
    """Return one set as it stands on the page; a new one begins like the last before it."""
    sent = page.part_of(f"{key}-")
    if sent is not None and not any(name.startswith(f"{key}-") for name in sent):
        sent = None
    like = before[-1].part_set if before else None
    what = _what(key, sent, like)
    one = PartSet(key, PartKind.WHEEL, 1)
    if what.told_kind:
        one = replace(what.part_set(None), key=key)
    layers = on_them.layers_form(page if sent is not None else _Unsent(page), one, _like(like, one))
    _all_of_them(layers, one.count)
    _short_labels(what, layers)
    one = on_them.told_layers(one, layers)
    items = _items(key, sent, one, before)
    one = replace(one, fitted=items.fitted(one.kind))
    first = before[0].part_set if before else None
    coats = _coats(key, sent, one, first, stock)
    more = FinishForm(sent, prefix=f"{key}-finish-")
    shown = SetOnPage(key, what, layers, items, coats, more, one, parts.readings(what))
    shown.part_set = replace(one, finish=_finish(shown, first, stock))
    return shown


class _Unsent:
    """A page as it is for a set that was only just added: nothing of it was sent yet."""

    def __init__(self, page: Any) -> None:
        self.page = page

    def part_of(self, _prefix: str) -> None:
        """Return nothing."""

    def __getitem__(self, name: str) -> Any:
        return self.page[name]

    def __contains__(self, name: str) -> bool:
        return name in self.page


def _what(key: str, sent: Any, like: PartSet | None) -> SetForm:
    filled = parts.filled(like) if like else {}
    data = {k: v for k, v in filled.items() if k not in ("key", "count", "size", "size_open")}
    data["count"] = None if like else FOUR
    form = SetForm(sent, prefix=f"{key}-", meta={"csrf": False}, data=data)
    del form.photos, form.version
    form.kind.choices = parts.kinds_offered()
    form.key.data = key
    return form


def _like(like: PartSet | None, one: PartSet) -> tuple[Any, ...]:
    """Return the layers that are ticked at once: those of a set of this kind, else none."""
    return like.layers if like and like.kind is one.kind else ()


def _short_labels(*forms: Any) -> None:
    for form in forms:
        for field in form:
            if field.short_name in SHORT:
                field.label.text = SHORT[field.short_name]


def _all_of_them(layers: on_them.LayersForm, count: int) -> None:
    """Let a damage be on all parts of a set until somebody says on how many."""
    for damage in Damage:
        field = layers.many(damage.value)
        if field is not None and not 0 < number_of(str(field.data or ""), 0) <= count:
            field.data = count if isinstance(field, CountField) else str(count)
            field.raw_data, field.process_errors = [str(count)], []


def _items(key: str, sent: Any, one: PartSet, before: Sequence[SetOnPage]) -> ItemsForm:
    usual = [item.value for item in usually_fitted(one.kind, None)]
    on = before[-1].items.on.data if before else None
    form = ItemsForm(sent, prefix=f"{key}-", data={"on": on, "exact": usual})
    # the boxes that were sent may be those of another kind
    if sent is not None and sent.get(f"{key}-boxes") != one.kind.value:
        form.exact.data = usual
    form.exact.choices = [(item.value, label(item)) for item in items_for(one.kind)]
    if form.new_tyres.data is None:
        form.new_tyres.data = NewTyres.SAME.value
    return form


def _coats(key: str, sent: Any, one: PartSet, first: PartSet | None, stock: Stock) -> CoatsForm:
    form = CoatsForm(sent, prefix=f"{key}-", data={"same": True})
    if not finish_form.can_be_same(one, first):
        form.same.data = False
    systems = systems_offered(one, stock)
    form.system.choices = [(system.value, label(system)) for system in systems]
    if not form.system.data and systems:
        form.system.data = systems[0].value
    return form


def _finish(shown: SetOnPage, first: PartSet | None, stock: Stock) -> FinishChoice | None:
    """Return the finish on the page; None while no colour is told."""
    coats, more, one = shown.coats, shown.more, shown.part_set
    if coats.same.data:
        coats.pick.data = None  # nothing is looked for, so nothing is there to be picked
        return finish_form.like_first(first.finish if first else None, one)
    if coats.system.data not in {s.value for s in systems_offered(one, stock)}:
        coats.pick.data = None
        return None
    hit = _colour(shown, stock)
    more.same.data = ""
    more.decide_from_sample.data = bool(coats.sample.data)
    more.system.data = hit.system.value if hit else coats.system.data
    more.gloss.data = hit.gloss.value if hit else coats.gloss.data
    more.colour.data = hit.powder.code if hit else None
    finish_form.offer(more, one, stock)
    if hit is None and not coats.sample.data:
        return None
    return finish_form.chosen(more, one)


def _colour(shown: SetOnPage, stock: Stock) -> NearestColour | None:
    """Return the colour that is meant: the one that was picked, or the only one of that name."""
    coats = shown.coats
    text = (coats.near.data or "").strip()
    if not text or coats.sample.data:
        coats.pick.data = None
        return None
    system = System(coats.system.data)
    gloss = next((g for g in Gloss if g.value == coats.gloss.data), None)
    try:
        systems = systems_offered(shown.part_set, stock)
        shown.found = find(text, stock, systems, system, gloss or Gloss.GLOSS, colour_name)
    except CraftError as wrong:
        shown.problem = wrong.sentence
        coats.pick.data = None
        return None
    hits = shown.found.hits
    coats.pick.choices = [(hit.value, hit.powder.name) for hit in hits]
    picked = next((hit for hit in hits if hit.value == coats.pick.data), None)
    if picked is None and shown.found.exact:
        like = [h for h in hits if h.system is system and gloss in (None, h.gloss)]
        picked = like[0] if len(like) == 1 else None
    coats.pick.data = picked.value if picked else None
    return picked


def way_of(sets: Sequence[SetOnPage]) -> tuple[Bringing, Whereabouts | None]:
    """Return how the parts of all sets come, and where their wheels are."""
    wheels = [one for one in sets if one.part_set.kind is PartKind.WHEEL]
    if not wheels:
        return Bringing.BARE, None
    if any(one.items.on.data == ON_CAR for one in wheels):
        return Bringing.WHOLE_CAR, Whereabouts.ON_CAR
    if any(Item.TYRE in one.part_set.fitted for one in wheels):
        return Bringing.COMPLETE, Whereabouts.OFF
    bare = all(not one.part_set.fitted for one in wheels)
    return Bringing.BARE, Whereabouts.BARE if bare else Whereabouts.OFF


def with_removers(one: SetOnPage, way: Bringing, *, here: bool) -> PartSet:
    """Return the set with who takes its things off: we do where the parts are here already."""
    declared = one.part_set
    removers = {}
    for item, removal in all_removals(declared, way).items():
        if item in declared.fitted:
            usual = who_for(removal, None)
            ours = here and usual is Remover.YOU and Remover.US in removal.who_may
            removers[item] = Remover.US if ours else usual
    ours = removers.get(Item.TYRE) is Remover.US
    new = NewTyres(one.items.new_tyres.data) if ours else NewTyres.SAME
    return replace(declared, removers=removers, new_tyres=new)


def check_sets(sets: Sequence[SetOnPage], declared: Declared) -> bool:
    """Put beside their fields what a form can't know by itself; return whether all is well."""
    good = True
    for one in sets:
        wheel = one.part_set.kind is PartKind.WHEEL
        if wheel and not one.items.on.data:
            good = one.items.add_error("on", _l("Choose what is on them now."))
        if not one.colour_told:
            good = one.coats.add_error("near", _colour_wanted(one))
    if declared.bringing not in sensible(declared):
        first = next(one for one in sets if one.items.on.data == ON_CAR)
        good = first.items.add_error(
            "on", _l("A car can't be driven without its brake calipers. Choose another answer.")
        )
    return good


def _colour_wanted(one: SetOnPage) -> Any:
    if one.problem:
        return one.problem
    if one.found:
        return _l("Choose which of these colours it is.")
    return _l("Enter a colour, or tick “From a sample, at drop-off”.")
