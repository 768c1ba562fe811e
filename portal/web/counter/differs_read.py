"""Reads the form of a change: the difference that it tells, or errors beside its fields."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from portal.craft.bringing import NewTyres
from portal.craft.damaged import counted, how_many
from portal.craft.facts import OUTERMOST_FIRST
from portal.craft.finishes import can_be_made, in_finish
from portal.craft.markings import read_rim, read_tyre
from portal.craft.messages import Message
from portal.craft.parts import (
    Bringing,
    Closed,
    Damage,
    Gloss,
    Item,
    Layer,
    Making,
    Metal,
    PartSet,
    System,
    WheelBuild,
)
from portal.orders.counter.change_options import ChangeOptions
from portal.shop.pricing.differences import Difference, changed_between
from portal.shop.pricing.order_parts import refitted
from portal.web.counter.differs_form import SIDES, DiffersForm, sides_told
from portal.web.kit.sides import read_sides


def difference_in(form: DiffersForm, options: ChangeOptions) -> Difference | None:
    """Return what the form tells; None, with an error beside the field, where it can't be."""
    own, note = options.own, " ".join((form.note.data or "").split())
    more = int(form.more.data or 0) if form.has("more") else 0
    if more:
        new = tuple(range(options.next_number, options.next_number + more))
        return Difference(own.key, new, replace(own, count=more), more=True, note=note)
    ticked = {int(one) for one in form.parts.data or () if one.isdecimal()}
    numbers = tuple(one for one in options.numbers if one in ticked)
    if not numbers:
        form.add_error("parts", Message("Choose the parts that differ."))
        return None
    booked = options.order.as_declared(own.key, numbers)
    if form.has("missing") and form.missing.data:
        return Difference(own.key, numbers, booked, missing=True, note=note)
    arrived = _finished(_made(_fitted(_damaged(booked, form), form), form), form, options)
    arrived = _sized(arrived, form)
    if form.errors:
        return None
    return Difference(
        own.key,
        numbers,
        arrived,
        note=note,
        # without any it would say all of them
        changed=changed_between(booked, arrived) or ("note",),
        bringing=_bringing(booked, arrived, form, options),
    )


def _damaged(booked: PartSet, form: DiffersForm) -> PartSet:
    """Return the parts with the ticked damage: on as many as declared, else on all."""
    if not form.has("damage"):
        return booked
    ticked: Sequence[str] = form.damage.data or ()
    return counted(booked, {d: how_many(booked, d) or booked.count for d in Damage if d in ticked})


def _fitted(booked: PartSet, form: DiffersForm) -> PartSet:
    if not form.has("fitted"):
        return booked
    fitted = tuple(one for one in Item if one in (form.fitted.data or ()))
    tyres = booked.new_tyres
    if form.has("tyres") and Item.TYRE in fitted:
        if form.tyres.data:
            tyres = NewTyres(form.tyres.data)
        else:
            form.add_error("tyres", Message("Choose which tyres go on after the coating."))
    return replace(booked, fitted=fitted, new_tyres=tyres)


def _bringing(
    booked: PartSet, arrived: PartSet, form: DiffersForm, options: ChangeOptions
) -> Bringing | None:
    """Return another way in which the order was brought; None where it is as told."""
    declared = options.order.declared
    if not form.has("bringing"):
        return None
    chosen = Bringing(form.bringing.data) if form.bringing.data else declared.bringing
    if chosen is not declared.bringing:
        return chosen
    tyres_came = Item.TYRE in arrived.fitted and (
        Item.TYRE not in booked.fitted or arrived.new_tyres is not booked.new_tyres
    )
    return refitted(declared, arrived.new_tyres) if tyres_came else None


def _finished(booked: PartSet, form: DiffersForm, options: ChangeOptions) -> PartSet:
    before = booked.finish
    if not form.has("system") or before is None:
        return booked
    system, gloss = System(form.system.data), Gloss(form.gloss.data)
    colour = str(form.plate.data or "")
    if (system, gloss, colour) == (before.system, before.gloss, before.colour):
        return booked
    arrived = in_finish(booked, system, colour, gloss)
    if not can_be_made(arrived, options.stock):
        form.add_error(
            "plate",
            Message(
                "This colour can't be had with these coats and this gloss. Choose another one."
            ),
        )
    return arrived


def _made(booked: PartSet, form: DiffersForm) -> PartSet:
    arrived = booked
    if form.has("layers"):
        arrived = replace(arrived, layers=_layers(form.layers.data or ()))
    if form.has("yellow_to_red"):
        arrived = replace(arrived, yellow_to_red=bool(form.yellow_to_red.data))
    if form.has("build"):
        build = WheelBuild(form.build.data)
        # "don't know" is how an unsaid build is shown
        same = booked.build is None and build is WheelBuild.UNKNOWN
        arrived = replace(arrived, build=booked.build if same else build)
    if form.has("metal"):
        arrived = replace(arrived, metal=Metal(form.metal.data or booked.metal))
    if form.has("made"):
        arrived = replace(arrived, made=Making(form.made.data or booked.made))
    if form.has("closed"):
        closed = tuple(one for one in Closed if one in (form.closed.data or ()))
        arrived = replace(arrived, closed=closed)
    return arrived


def _layers(ticked: Any) -> tuple[Layer, ...]:
    layers = tuple(one for one in OUTERMOST_FIRST if one in ticked)
    # bare metal with something on it is not bare
    return tuple(one for one in layers if one is not Layer.BARE) or layers


def _sized(booked: PartSet, form: DiffersForm) -> PartSet:
    if form.has("length"):
        return _measured(booked, form)
    if not form.has("rim_text"):
        return booked
    arrived = booked
    rim, tyre = form.rim_text.data or "", form.tyre_text.data or ""
    if rim != booked.rim_text and rim:
        read = read_rim(rim)
        if read.rim is None or read.impossible:
            form.add_error("rim_text", read.impossible[0] if read.impossible else read.where)
        elif read.unsure:
            form.add_error("rim_text", read.unsure[0])
        arrived = replace(arrived, rim=read.rim, rim_text=rim)
    if tyre != booked.tyre_text and tyre:
        read_as = read_tyre(tyre)
        if read_as.tyre is None or read_as.impossible:
            says = read_as.impossible[0] if read_as.impossible else read_as.where
            form.add_error("tyre_text", says)
        arrived = replace(arrived, tyre=read_as.tyre, tyre_text=tyre)
    return arrived


def _measured(booked: PartSet, form: DiffersForm) -> PartSet:
    """Return a part that is no wheel with its size as measured, or as declared if left empty."""
    typed = {name: form[name].data or "" for name in SIDES}
    if typed == {name: sides_told(booked.size_mm).get(name, "") for name in SIDES}:
        return booked
    read = read_sides(tuple(typed.values()))
    for n, sentence in read.wrong.items():
        form.add_error(SIDES[n], sentence)
    return replace(booked, size_mm=read.size) if read.size else booked
