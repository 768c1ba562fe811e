"""What a customer answers: an intent for well-known fields, anything that is offered for others."""

import re
from collections.abc import Callable
from typing import Any

from tests.customers.forms import Field, Form
from tests.customers.plans import LENGTHS, RIMS, TYRES, WRONG, Plan, SetPlan

Answer = str | list[str] | None
SOUND = {
    "size": "8Jx18 ET35", "what": "X 7", "length": "450 mm", "width": "300 mm",
    "height": "40 mm", "count": "2", "near": "",
}  # fmt: skip
CALM = {"build": "cast", "metal": "cast_aluminium"}
FIRST_SLOTS = 12


class Answers:
    """Fills in the forms of one customer. `calm` answers as nobody can object to."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.calm = False
        self.wrong_yet: set[str] = set()

    def to(self, form: Form, current: SetPlan, *, only: set[str] | None = None) -> dict[str, Any]:
        """Return the answers to a form; `current` is the set that a page without letters is of."""
        found: dict[str, Any] = {}
        for one in form.fields.values():
            if only is not None and one.name not in only:
                continue
            answer = self._one(one, form, self._set_of(one, current), found)
            if answer is not None:
                found[one.name] = answer
        return found

    def _set_of(self, one: Field, current: SetPlan) -> SetPlan:
        number = ord(one.set_key) - ord("A") if one.set_key else current.number
        sets = self.plan.sets
        return sets[number] if number < len(sets) else current

    def _one(self, one: Field, form: Form, of: SetPlan, so_far: dict[str, Any]) -> Answer:
        if one.kind == "file":
            return None
        known: dict[str, Callable[..., Answer]] = {
            "kind": self._kind, "count": self._count, "what": self._what, "size": self._size,
            "size_open": self._open, "sides_open": self._open, "length": self._length,
            "width": self._length, "height": self._length, "layers": self._layers,
            "damage": self._damage, "closed": self._closed, "where": self._way,
            "bringing": self._way, "system": self._system, "near": self._near,
            "registered": self._registered, "permission": self._permission,
            "slot": self._slot, "confirmed": self._yes, "sure": self._yes,
            "name": self._contact, "email": self._contact, "phone": self._contact,
        }  # fmt: skip
        if one.short in known:
            return known[one.short](one, of, so_far)
        if one.short.startswith("many_"):
            return self._many(one, of, so_far)
        if self.calm:
            return _calmly(one)
        return self._any(one, of)

    def _kind(self, one: Field, of: SetPlan, _so_far: dict[str, Any]) -> Answer:
        # every second customer brings wheels; of the others each kind comes in its turn
        kinds = one.values
        if self.calm:
            return "wheel"
        chosen = of.rng.choice(kinds)
        if of.number == 0:
            chosen = "wheel" if self.plan.seed % 2 else kinds[self.plan.seed // 2 % len(kinds)]
        elif of.likely(0.35):
            chosen = "wheel"
        return chosen

    def _count(self, one: Field, of: SetPlan, _so_far: dict[str, Any]) -> Answer:
        return self._or_wrong("count", str(of.count))

    def _what(self, one: Field, of: SetPlan, _so_far: dict[str, Any]) -> Answer:
        return "X 7" if self.calm or of.likely(0.8) else ""

    def _size(self, one: Field, of: SetPlan, _so_far: dict[str, Any]) -> Answer:
        if self.calm:
            return SOUND["size"]
        if of.size == "unknown":
            return ""
        if of.size == "diameter":
            return str(of.rng.randint(12, 24))
        if of.size == "tyre":
            return of.rng.choice(TYRES[of.rng.choice(list(TYRES))])
        rim = of.rng.choice(RIMS[of.size])
        return f"{rim}, {of.rng.choice(TYRES['typed'])}" if of.likely(0.1) else rim

    def _open(self, one: Field, of: SetPlan, _so_far: dict[str, Any]) -> Answer:
        """Tick that the size isn't known, now and then after an empty line was refused."""
        unknown = not self.calm and of.size == "unknown"
        return one.values if unknown and (one.name in self.wrong_yet or of.likely(0.7)) else []

    def _closed(self, one: Field, of: SetPlan, _so_far: dict[str, Any]) -> Answer:
        """Say that nothing of it is closed, as it is of most things."""
        if self.calm or of.likely(0.75):
            return ["none"] if "none" in one.values else one.values[:1]
        return of.rng.sample(one.values, of.rng.choice((1, 1, 2)))

    def _many(self, one: Field, of: SetPlan, so_far: dict[str, Any]) -> Answer:
        """Say on how many parts a damage is, where it was ticked."""
        harm = one.short.removeprefix("many_")
        ticked = any(harm in (v or ()) for k, v in so_far.items() if k.endswith("damage"))
        if not ticked or self.calm:
            return None
        numbers = [v for v in one.values if v] or [str(n) for n in range(1, of.count + 1)]
        return of.rng.choice((numbers[-1], numbers[0], of.rng.choice(numbers)))

    def _length(self, one: Field, of: SetPlan, so_far: dict[str, Any]) -> Answer:
        if self.calm:
            return SOUND[one.short]
        style = of.size if of.size in LENGTHS else "typed"
        if of.size == "unknown":
            return ""
        sides = ("length", "width", "height")
        if one.short == "length":
            of.sides = of.rng.choice(LENGTHS[style]).split("|")  # type: ignore[attr-defined]
        kept = getattr(of, "sides", ["450"])
        at = sides.index(one.short)
        return kept[at] if len(kept) > at else of.rng.choice(LENGTHS["typed"])

    def _layers(self, one: Field, of: SetPlan, _so_far: dict[str, Any]) -> Answer:
        if self.calm:
            return one.values[:1]
        if of.likely(0.4):
            return one.checked or one.values[:1]
        chosen = of.rng.sample(one.values, min(len(one.values), of.rng.choice((1, 1, 2))))
        for layer in chosen:
            self.plan.note("old finish", layer)
        return chosen

    def _damage(self, one: Field, of: SetPlan, _so_far: dict[str, Any]) -> Answer:
        if self.calm or of.likely(0.65):
            return []
        chosen = of.rng.sample(one.values, of.rng.choice((1, 1, 2)))
        for harm in chosen:
            self.plan.note("damage", harm)
        return chosen

    def _way(self, one: Field, of: SetPlan, _so_far: dict[str, Any]) -> Answer:
        return one.values[0] if self.calm else self.plan.rng.choice(one.values)

    def _registered(self, one: Field, of: SetPlan, _so_far: dict[str, Any]) -> Answer:
        """Most vehicles are registered where the works are; some in a country with a rule."""
        if self.calm or of.likely(0.75):
            return ""
        chosen = self.plan.rng.choice(one.values)
        self.plan.note("registered", chosen or "here")
        return chosen

    def _permission(self, one: Field, of: SetPlan, _so_far: dict[str, Any]) -> Answer:
        """Most who are asked have the paper; without it they go no further."""
        return "yes" if self.calm or of.likely(0.7) else of.rng.choice(one.values)

    def _system(self, one: Field, of: SetPlan, _so_far: dict[str, Any]) -> Answer:
        return one.values[0] if self.calm else of.rng.choice(one.values)

    def _near(self, one: Field, of: SetPlan, _so_far: dict[str, Any]) -> Answer:
        if self.calm or not of.likely(0.15):
            return ""
        return of.rng.choice(("7016", "RAL 9005", "#383E42", "9010", *WRONG["near"]))

    def _slot(self, one: Field, of: SetPlan, _so_far: dict[str, Any]) -> Answer:
        return self.plan.rng.choice(one.values[:FIRST_SLOTS]) if one.values else None

    def _yes(self, one: Field, of: SetPlan, _so_far: dict[str, Any]) -> Answer:
        return one.values[:1] if one.kind == "checkbox" else _first(one)

    def _contact(self, one: Field, of: SetPlan, _so_far: dict[str, Any]) -> Answer:
        return self._or_wrong(one.short, str(getattr(self.plan, one.short)))

    def _or_wrong(self, name: str, right: str) -> str:
        """Return the answer, or once something wrong before it."""
        plan = self.plan
        if not self.calm and plan.wrong_first and name not in self.wrong_yet and plan.likely(0.5):
            self.wrong_yet.add(name)
            return plan.rng.choice(WRONG[name])
        return right

    def _any(self, one: Field, of: SetPlan) -> Answer:
        """Answer a field that nobody told us about: as it stands, or anything that is offered."""
        rng = of.rng
        if one.kind == "radio":
            return None if one.checked and of.likely(0.5) else rng.choice(one.values)
        if one.kind == "checkbox":
            if len(one.options) == 1:
                return one.values if one.required or of.likely(0.12) else None
            return [v for v in one.values if of.likely(0.15)] if of.likely(0.4) else None
        if one.kind == "select":
            return rng.choice(one.values) if of.likely(0.25) else None
        if one.value and not of.likely(0.1):
            return None
        return self._typed(one, of) if one.required or of.likely(0.2) else None

    def _typed(self, one: Field, of: SetPlan) -> str:
        """Type something into a field by what it says of itself."""
        if one.kind == "email" or one.has("autocomplete") == "email":
            return self.plan.email
        if one.kind == "tel" or one.has("autocomplete") == "tel":
            return self.plan.phone
        if one.has("autocomplete") == "name":
            return self.plan.name
        if one.has("type") == "date":
            return "2027-01-15"
        if one.has("inputmode") in ("numeric", "decimal"):
            return str(of.rng.randint(1, 9))
        return of.rng.choice(("Z 4", "7016", "A–B", "№ 3"))[: int(one.has("maxlength") or 99)]


def put_right(form: Form, name: str, says: str, plan: Plan, tries: int) -> Answer:
    """Return another answer to a field that was blamed, as a person would after reading why."""
    one = form.fields[name]
    if one.options:
        return _other(one, plan)
    if one.kind == "file":
        return None
    if one.short in ("name", "email", "phone"):
        return str(getattr(plan, one.short))
    return _retyped(one, says, tries)


def _other(one: Field, plan: Plan) -> Answer:
    """Choose something else; of boxes the one that says that one doesn't know."""
    if one.kind == "checkbox":
        known = {"none", "unknown", "y", "yes"}
        return [v for v in one.values if v in known][:1] or one.values[:1]
    others = [v for v in one.values if v and v not in one.checked]
    return plan.rng.choice(others or one.values)


def _retyped(one: Field, says: str, tries: int) -> str:
    """Type something sound, what the error names as an example, or nothing at all."""
    if tries < 2 and one.short in SOUND:
        return SOUND[one.short]
    like = re.search(r"(?:like|such as|wie|Beispiel|como)\s+([^\s,]+(?:\s(?:cm|in|mm))?)", says)
    if like and tries < 3:
        return like[1].rstrip(".,")
    number = re.search(r"\d+", says)
    return (number[0] if number else "2") if one.required else ""


def _calmly(one: Field) -> Answer:
    """Leave a field as it stands, unless somebody could object to it."""
    sound = CALM.get(one.short)
    if sound in one.values:
        return sound
    return _first(one) if one.options and not one.checked and one.kind == "radio" else None


def _first(one: Field) -> str | None:
    return one.values[0] if one.values else None
