"""What a customer told, as a table of keys: read from order files, drafts and jobs, and written.

One shape for TOML files and JSON columns. A draft may lack what has not been asked yet (finish,
size, metal); what is there is always checked. `rim` and `tyre` may be the marking as a text, as
a person reads it off the part, or the table that `write_declared` writes.
"""

from collections.abc import Mapping
from dataclasses import fields as dataclass_fields
from typing import Any

from portal.craft import fields
from portal.craft.bringing import NewTyres, Whereabouts
from portal.craft.fields import Fields, refuse
from portal.craft.markings import read_rim, read_tyre
from portal.craft.messages import Message
from portal.craft.parts import (
    LONGEST_MM,
    BareZone,
    Bringing,
    Closed,
    Damage,
    Declared,
    FaceStyle,
    FinishChoice,
    Gloss,
    Item,
    Layer,
    Making,
    Metal,
    OwnCosts,
    PartKind,
    PartSet,
    Remover,
    Rim,
    System,
    Tyre,
    Usage,
    WheelBuild,
)

MOST_PARTS = 400
MOST_WHEELS = 40
MOST_SETS = 20
LONGEST_WHAT = 60
# a customer's own cost, in minor units
DEAREST = 10_000_00
KEYS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def read_declared(source: Mapping[str, Any]) -> Declared:
    """Read a whole order; raise CraftError naming the key, such as `sets[0].count`."""
    whole = Fields(source)
    sets = tuple(_read_set(one, i) for i, one in enumerate(whole.tables("sets", longest=MOST_SETS)))
    seen: set[str] = set()
    for i, one in enumerate(sets):
        if one.key in seen:
            raise refuse(
                Message("Two sets have the same key. Give each its own."), f"sets[{i}].key"
            )
        seen.add(one.key)
    declared = Declared(
        sets=sets,
        bringing=whole.word("bringing", Bringing),
        whereabouts=whole.word("whereabouts", Whereabouts),
        own_costs=_read_own_costs(whole.table("own_costs")),
        rush=whole.flag("rush"),
        original_before_1980=whole.flag("original_before_1980"),
        usage=whole.word("usage", Usage),
    )
    whole.close()
    return declared


def _read_own_costs(costs: Fields | None) -> OwnCosts:
    if costs is None:
        return OwnCosts()
    read = OwnCosts(
        tyre_off_on_each=costs.whole("tyre_off_on_each", 0, DEAREST),
        trip=costs.whole("trip", 0, DEAREST),
        day_without_car=costs.whole("day_without_car", 0, DEAREST),
    )
    costs.close()
    return read


def _read_set(one: Fields, number: int) -> PartSet:
    kind = one.need_word("kind", PartKind)
    wheel = kind is PartKind.WHEEL
    key = one.text("key", KEYS[number % len(KEYS)], longest=8)
    if not key.isascii() or not key.isalnum():
        raise refuse(
            Message("A set's key can have up to eight letters and digits."), one.path("key")
        )
    tyre, tyre_text = _read_tyre(one)
    rim, rim_text = _read_rim(one)
    if not wheel:
        for name in ("build", "face", "rim", "tyre"):
            if one.has(name):
                raise refuse(Message("Only wheels have this. Leave it out here."), one.path(name))
    else:
        for name in ("what", "made", "closed"):
            if one.has(name):
                raise refuse(Message("Wheels don't have this. Leave it out here."), one.path(name))
    read = PartSet(
        key=key,
        kind=kind,
        count=one.need_whole("count", 1, MOST_WHEELS if wheel else MOST_PARTS),
        metal=one.word("metal", Metal) or Metal.UNKNOWN,
        build=one.word("build", WheelBuild),
        rim=rim,
        tyre=tyre,
        rim_text=rim_text,
        tyre_text=tyre_text,
        face=one.word("face", FaceStyle) or FaceStyle.FEW_SPOKES,
        size_mm=_read_size(one),
        what=one.text("what", longest=LONGEST_WHAT),
        made=one.word("made", Making) or Making.UNKNOWN,
        closed=_read_closed(one),
        layers=one.words("layers", Layer),
        damage=one.words("damage", Damage),
        damaged=_read_damaged(one.table("damaged")),
        damaged_which=one.text("damaged_which", longest=120),
        fitted=one.words("fitted", Item),
        removers=_read_removers(one.table("removers")),
        new_tyres=one.word("new_tyres", NewTyres) or NewTyres.SAME,
        finish=_read_finish(one.table("finish")),
        note=one.text("note", longest=500),
    )
    one.close()
    return read


def _read_closed(one: Fields) -> tuple[Closed, ...]:
    closed = one.words("closed", Closed)
    if Closed.NONE in closed and len(closed) > 1:
        raise refuse(Message("“None” can't stand beside another answer."), one.path("closed"))
    return closed


def _read_size(one: Fields) -> tuple[float, float, float] | None:
    if not one.has("size_mm"):
        return None
    sizes = one.entries("size_mm", longest=3)
    if len(sizes) != 3:
        raise refuse(Message("Enter length, width and height in mm."), one.path("size_mm"))
    length, width, height = (
        fields.number(value, 0.5, LONGEST_MM, f"{one.path('size_mm')}[{i}]")
        for i, value in enumerate(sizes)
    )
    return (length, width, height)


def _read_removers(table: Fields | None) -> dict[Item, Remover]:
    if table is None:
        return {}
    found = {item: table.word(item.value, Remover) for item in Item}
    table.close()
    return {item: who for item, who in found.items() if who is not None}


def _read_damaged(table: Fields | None) -> dict[Damage, int]:
    if table is None:
        return {}
    found = {damage: table.whole(damage.value, 1, MOST_PARTS) for damage in Damage}
    table.close()
    return {damage: count for damage, count in found.items() if count is not None}


def _read_finish(table: Fields | None) -> FinishChoice | None:
    if table is None:
        return None
    finish = FinishChoice(
        system=table.need_word("system", System),
        colour=table.text("colour", longest=16),
        gloss=table.word("gloss", Gloss) or Gloss.GLOSS,
        face=table.text("face", longest=16),
        barrel=table.text("barrel", longest=16),
        bare=table.words("bare", BareZone),
        decide_from_sample=table.flag("decide_from_sample"),
    )
    table.close()
    return finish


def _read_rim(one: Fields) -> tuple[Rim | None, str]:
    """Return the rim, and its marking as typed."""
    value = one.raw("rim")
    typed = one.text("rim_text")
    if isinstance(value, str):
        read = read_rim(one.text("rim"))
        if read.impossible:
            raise refuse(read.impossible[0], one.path("rim"))
        if read.rim is None:
            raise refuse(
                read.where
                or Message("We can't read this rim marking. Write it like 8J x 18 ET35."),
                one.path("rim"),
            )
        return (read.rim, typed or value)
    if value is None:
        return (None, typed)
    table = Fields(value, one.path("rim"))
    rim = Rim(
        diameter_code=table.need_number("diameter_code", 8, 30),
        width_code=table.need_number("width_code", 1.5, 20),
        flange=table.text("flange", "J", longest=4),
        hump=table.text("hump", longest=8),
        offset_mm=table.number("offset_mm", -200, 200),
        bolts=table.whole("bolts", 1, 12),
        bolt_circle_mm=table.number("bolt_circle_mm", 50, 400),
        bore_mm=table.number("bore_mm", 10, 400),
    )
    table.close()
    return (rim, typed)


def _read_tyre(one: Fields) -> tuple[Tyre | None, str]:
    """Return the tyre, and its marking as typed."""
    value = one.raw("tyre")
    typed = one.text("tyre_text")
    if isinstance(value, str):
        read = read_tyre(one.text("tyre"))
        if read.impossible:
            raise refuse(read.impossible[0], one.path("tyre"))
        if read.tyre is None:
            raise refuse(
                read.where
                or Message("We can't read this tyre size. Write it like 225/45 R17 94W."),
                one.path("tyre"),
            )
        return (read.tyre, typed or value)
    if value is None:
        return (None, typed)
    table = Fields(value, one.path("tyre"))
    tyre = Tyre(
        rim_code=table.need_number("rim_code", 8, 30),
        width_mm=table.number("width_mm", 80, 500),
        aspect=table.number("aspect", 15, 105),
        construction=table.text("construction", "R", longest=4),
        prefix=table.text("prefix", longest=4),
        suffix=table.text("suffix", longest=4),
        load_index=table.whole("load_index", 0, 279),
        dual_load_index=table.whole("dual_load_index", 0, 279),
        speed=table.text("speed", longest=4),
        extra_load=table.flag("extra_load"),
        overall_in=table.number("overall_in", 10, 60),
        width_in=table.number("width_in", 3, 25),
    )
    table.close()
    return (tyre, typed)


def write_declared(declared: Declared) -> dict[str, Any]:
    """Write an order as plain values; `read_declared` of that gives the same order."""
    return _kept(
        {
            "bringing": declared.bringing and declared.bringing.value,
            "whereabouts": declared.whereabouts and declared.whereabouts.value,
            "rush": declared.rush,
            "original_before_1980": declared.original_before_1980,
            "usage": declared.usage and declared.usage.value,
            "own_costs": _flat(declared.own_costs),
            "sets": [_write_set(one) for one in declared.sets],
        }
    )


def _write_set(one: PartSet) -> dict[str, Any]:
    wheel = one.kind is PartKind.WHEEL
    return {"key": one.key, "kind": one.kind.value, "count": one.count} | _kept(
        {
            "metal": one.metal.value if one.metal is not Metal.UNKNOWN else None,
            "build": one.build and one.build.value,
            "rim": one.rim and _flat(one.rim),
            "tyre": one.tyre and _flat(one.tyre),
            "rim_text": one.rim_text,
            "tyre_text": one.tyre_text,
            "face": one.face.value if wheel else None,
            "size_mm": list(one.size_mm) if one.size_mm else None,
            "what": one.what,
            "made": one.made.value if one.made is not Making.UNKNOWN else None,
            "closed": [closed.value for closed in one.closed],
            "layers": [layer.value for layer in one.layers],
            "damage": [damage.value for damage in one.damage],
            "damaged": {damage.value: count for damage, count in one.damaged.items()},
            "damaged_which": one.damaged_which,
            "fitted": [item.value for item in one.fitted],
            "removers": {item.value: who.value for item, who in one.removers.items()},
            "new_tyres": one.new_tyres.value if one.new_tyres is not NewTyres.SAME else None,
            "finish": _write_finish(one.finish),
            "note": one.note,
        }
    )


def _write_finish(finish: FinishChoice | None) -> dict[str, Any] | None:
    if finish is None:
        return None
    return {
        "system": finish.system.value,
        "colour": finish.colour,
        "gloss": finish.gloss.value,
    } | _kept(
        {
            "face": finish.face,
            "barrel": finish.barrel,
            "bare": [zone.value for zone in finish.bare],
            "decide_from_sample": finish.decide_from_sample,
        }
    )


def _flat(thing: Rim | Tyre | OwnCosts) -> dict[str, Any]:
    """Return what a flat dataclass says beyond its defaults."""
    found = {one.name: getattr(thing, one.name) for one in dataclass_fields(thing)}
    usual = {one.name: one.default for one in dataclass_fields(thing)}
    return {name: value for name, value in found.items() if value != usual[name]}


def _kept(values: dict[str, Any]) -> dict[str, Any]:
    """Leave out what says nothing, so that a file or a draft stays short."""
    return {name: value for name, value in values.items() if value not in (None, "", [], {}, False)}
