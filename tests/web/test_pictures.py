"""Pictures are well-formed, light, told in words, and free of inline style, whatever is ordered."""

import re
from itertools import pairwise, product
from xml.etree import ElementTree

import pytest

from portal.craft.answers import Removal
from portal.craft.messages import Message
from portal.craft.parts import (
    Effect,
    FaceStyle,
    FinishChoice,
    Gloss,
    Item,
    PartKind,
    PartSet,
    Powder,
    Remover,
    Rim,
    System,
    Tyre,
)
from portal.web.pictures.bars import Point, bar, facing, write
from portal.web.pictures.exploded import exploded
from portal.web.pictures.paint import BLASTED, Paint
from portal.web.pictures.parts import part
from portal.web.pictures.swatches import swatch
from portal.web.pictures.wheel import wheel

MOST_BYTES = 6000
POWDERS = {
    str(effect): Powder(str(effect), f"Sample {effect}", (34.2, 12.6, 20.4), 70, effect)
    for effect in Effect
} | {"second": Powder("second", "Second", (80.0, -1.2, 1.4), 80)}


def ordered(face: FaceStyle = FaceStyle.FEW_SPOKES, **changes) -> PartSet:
    values = {
        "system": System.BASE_CLEAR,
        "colour": "metallic",
        "gloss": Gloss.HIGH_GLOSS,
    } | {k: v for k, v in changes.items() if k in {"system", "colour", "gloss", "barrel"}}
    return PartSet(
        key="a",
        kind=changes.get("kind", PartKind.WHEEL),
        count=4,
        face=face,
        rim=changes.get("rim", Rim(18, 8, bolts=5, bolt_circle_mm=112)),
        tyre=changes.get("tyre", Tyre(18, 225, 40)),
        finish=FinishChoice(**values),
    )


def parsed(markup: str) -> ElementTree.Element:
    return ElementTree.fromstring(str(markup))


def tags(root: ElementTree.Element, name: str) -> list[ElementTree.Element]:
    return [e for e in root.iter() if e.tag == name]


def assert_a_good_picture(markup: str) -> None:
    root = parsed(markup)
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    assert len(ids) == len(set(ids)), "an id stands twice"
    used = set(re.findall(r"url\(#([^)]+)\)", markup)) | set(re.findall(r'href="#([^"]+)"', markup))
    assert used <= set(ids), f"nothing has the ids {used - set(ids)}"
    assert not [e for e in root.iter() if e.get("style")]
    assert not tags(root, "style")
    assert not tags(root, "script")
    assert "nan" not in markup


@pytest.mark.parametrize(("face", "effect"), list(product(FaceStyle, Effect)))
def test_every_face_in_every_effect_is_well_formed_light_and_told_in_words(face, effect) -> None:
    picture = wheel(ordered(face, colour=str(effect)), POWDERS, 640)
    assert_a_good_picture(picture)
    assert len(picture.encode()) <= MOST_BYTES
    root = parsed(picture)
    title = tags(root, "title")[0]
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == title.get("id")
    assert face.title in (title.text or "")
    assert f"Sample {effect}" in (title.text or "")


@pytest.mark.parametrize(("system", "gloss"), list(product(System, Gloss)))
def test_every_system_and_gloss_can_be_drawn(system, gloss) -> None:
    assert_a_good_picture(wheel(ordered(system=system, gloss=gloss), POWDERS, 320))


@pytest.mark.parametrize("kind", list(PartKind))
def test_every_kind_of_part_is_drawn_in_its_finish(kind) -> None:
    picture = part(ordered(kind=kind), POWDERS, 320)
    assert_a_good_picture(picture)
    assert len(picture.encode()) <= MOST_BYTES


def test_two_pictures_on_one_page_share_no_id() -> None:
    one, two = (wheel(ordered(), POWDERS) for _ in range(2))
    ids = [set(re.findall(r' id="([^"]+)"', picture)) for picture in (one, two)]
    assert not ids[0] & ids[1]


def test_a_name_that_carries_markup_is_shown_as_text() -> None:
    stock = {"metallic": Powder("metallic", '<b>&"Red', (40, 50, 30), 80)}
    root = parsed(wheel(ordered(), stock))
    assert '<b>&"Red' in (tags(root, "title")[0].text or "")


def test_the_rim_stands_in_true_proportion_to_its_tyre() -> None:
    def share(tyre: Tyre) -> float:
        circles = tags(parsed(wheel(ordered(tyre=tyre), POWDERS)), "circle")
        outer = max(float(c.get("r")) for c in circles)
        rim = next(c for c in circles if c.get("stroke") == "#8b8d8e" and c.get("fill") == "none")
        return float(rim.get("r")) / outer

    # 18 inch and two flanges of 17.3 mm, over the tyre's section heights
    edge = 18 * 25.4 + 2 * 17.3
    assert share(Tyre(18, 225, 40)) == pytest.approx(edge / (457 + 2 * 0.40 * 225), abs=0.01)
    assert share(Tyre(18, 265, 70)) == pytest.approx(edge / (457 + 2 * 0.70 * 265), abs=0.01)


def test_the_number_of_bolts_is_the_rims_own() -> None:
    four = wheel(ordered(rim=Rim(15, 6, bolts=4, bolt_circle_mm=100)), POWDERS)
    assert 'pathLength="4"' in four
    assert 'pathLength="5"' not in four


def test_a_different_barrel_changes_what_is_seen_between_the_spokes() -> None:
    def bare(picture: str) -> str:
        return re.sub(r"p[0-9a-f]+(?=[a-z]?[\"#)])", "", picture)

    same = bare(wheel(ordered(), POWDERS))
    other = bare(wheel(ordered(barrel="second"), POWDERS))
    assert same != other
    assert "Second" in other


def test_a_colour_that_is_no_longer_sold_is_drawn_as_metal() -> None:
    assert "no finish yet" in wheel(ordered(colour="gone"), POWDERS)


def lightness(tone: str) -> float:
    channels = [int(tone[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    return 0.2126 * channels[0] + 0.7152 * channels[1] + 0.0722 * channels[2]


@pytest.mark.parametrize("effect", list(Effect))
def test_what_faces_the_lamp_is_lighter_than_what_looks_away(effect) -> None:
    for lab in ((5, 0, 0), (50, 40, 20), (95, 0, 3)):
        paint = Paint(lab, 60, effect)
        assert lightness(paint.tone(1)) > lightness(paint.tone(-1))


def test_gloss_spreads_the_tones_and_matt_does_not_mirror() -> None:
    matt, mirror = Paint((40, 0, 0), 5), Paint((40, 0, 0), 95)
    assert mirror.spread > matt.spread
    assert "fff" not in swatch(Powder("m", "m", (40, 0, 0), 5))
    assert 'stop-color="#fff"' not in wheel(ordered(gloss=Gloss.MATT, colour="solid"), POWDERS)
    assert 'stop-color="#fff"' in wheel(ordered(gloss=Gloss.GLOSS, colour="solid"), POWDERS)


def test_a_slope_that_falls_towards_the_lamp_is_lit() -> None:
    assert facing((-0.5, -0.8)) > 0.9
    assert facing((0.5, 0.8)) < -0.9


def _end(path: str) -> Point:
    """Follow relative M, l and q commands to the end of a path."""
    x = y = 0.0
    for command, numbers in re.findall(r"([Mlq])([^Mlqz]*)", path):
        values = [float(n) for n in re.findall(r"-?\d*\.?\d+", numbers)]
        if command == "M":
            x, y = values
            continue
        step = 4 if command == "q" else 2
        for at in range(0, len(values), step):
            x, y = x + values[at + step - 2], y + values[at + step - 1]
    return (x, y)


def test_short_relative_paths_end_where_the_long_ones_would() -> None:
    points: list[Point] = [(10.04, 20.06), (31.33, 7.77), (100.25, 99.95), (3.3, 250.61)]
    path = write("M", points[0], "L", points[1], "Q", points[2], points[3])
    assert _end(path) == pytest.approx(points[3], abs=0.06)


def test_the_two_flanks_of_a_spoke_look_opposite_ways() -> None:
    spoke = bar((320, 300), (320, 60), (30, 20), bevel=5, flare=10)
    assert spoke.flanks[0].facing == pytest.approx(-spoke.flanks[1].facing)


def removal(item: Item, who: Remover = Remover.US) -> Removal:
    what = Message("x")
    return Removal(
        item=item, must=True, order=1, why=(what,), tool=what, step=what, happens=what,
        who_may=(who,),
    )  # fmt: skip


def test_the_wheel_taken_apart_shows_and_tells_who_takes_each_piece_off() -> None:
    rows = [removal(Item.TYRE), removal(Item.VALVE), removal(Item.CENTRE_CAP)]
    figure = exploded(rows, {Item.CENTRE_CAP: "you", Item.VALVE: "stays"}, "item-a-")
    root = parsed(figure)
    links = {a.get("href"): a for a in tags(root, "a")}
    assert set(links) == {"#item-a-tyre", "#item-a-valve", "#item-a-centre_cap"}
    assert links["#item-a-centre_cap"].get("data-who") == "you"
    # the words below the drawing say the same; the drawing is only for eyes and fingers
    assert "1. Centre cap: You do; 2. Valve: Stays on; 3. Tyre: We do" in (
        tags(root, "figcaption")[0].text or ""
    )
    svg = tags(root, "svg")[0]
    assert svg.get("aria-hidden") == "true"
    assert all(a.get("tabindex") == "-1" for a in links.values())


def test_every_item_has_a_piece_of_its_own() -> None:
    figure = exploded([removal(item) for item in Item])
    assert len(re.findall(r'<g data-who="us">', figure)) == len(Item)


@pytest.mark.parametrize("effect", list(Effect))
def test_a_sample_plate_is_small_and_hidden_because_its_name_stands_beside_it(effect) -> None:
    plate = swatch(POWDERS[str(effect)], 56)
    assert_a_good_picture(plate)
    assert parsed(plate).get("aria-hidden") == "true"
    assert len(plate) < 800


def _lamp_edges(markup: str) -> list[float]:
    """How far the mirrored lamp's stops lie apart: next to nothing where its edge is sharp."""
    (light,) = [
        e
        for e in tags(parsed(markup), "linearGradient")
        if e.find("stop[@stop-opacity]") is not None
    ]
    at = [float(stop.get("offset")) for stop in light]
    return [later - sooner for sooner, later in pairwise(at)]


def test_at_150_px_matt_mirrors_nothing_satin_a_haze_and_gloss_the_lamps_edge() -> None:
    matt, satin, gloss = (
        wheel(ordered(colour="solid", gloss=g), POWDERS, 150)
        for g in (Gloss.MATT, Gloss.SATIN, Gloss.GLOSS)
    )
    assert "stop-opacity" not in matt
    assert min(_lamp_edges(satin)) > 0.05
    assert min(_lamp_edges(gloss)) < 0.03


@pytest.mark.parametrize("size", [64, 150, 640])
@pytest.mark.parametrize(
    ("system", "colour"), [(System.TEXTURE, "texture"), (System.BASE_CLEAR, "metallic")]
)
def test_a_flake_is_about_a_pixel_whatever_the_size(size, system, colour) -> None:
    drawn = wheel(ordered(system=system, colour=colour), POWDERS, size)
    (pattern,) = tags(parsed(drawn), "pattern")
    scale = float(re.search(r"scale\(([\d.]+)\)", pattern.get("patternTransform"))[1])
    shown = 1.4 * scale * size / 640
    assert 0.6 < shown < 1.6


@pytest.mark.parametrize("size", [64, 150, 640])
def test_masked_seats_and_bore_are_bare_metal_and_the_cap_is_off(size) -> None:
    bare = Paint(BLASTED, 8).tone(0.3)
    for colour in ("solid", "chrome"):
        drawn = parsed(wheel(ordered(colour=colour, system=System.BASE_CLEAR), POWDERS, size))
        seats = [e for e in tags(drawn, "circle") if e.get("stroke") == bare]
        assert len(seats) >= 2  # the ring of seats, and the edge of the bore
