"""Every rim, written in every order and spelling that the grammar allows, is read back as it is."""

from dataclasses import replace

from hypothesis import example, given
from hypothesis import strategies as st

from portal.craft.markings import read_rim, read_tyre, write_rim
from portal.craft.parts import Rim, Tyre
from tests.readers import english

rims = st.builds(
    Rim,
    diameter_code=st.sampled_from([10, 13, 14, 15, 16, 17, 18, 19, 20, 22, 24, 15.5]),
    width_code=st.integers(8, 40).map(lambda quarters: quarters / 4),
    flange=st.sampled_from(["J", "JJ", "JK", "B", "T", "GS", "MT"]),
    hump=st.sampled_from(["", "H", "H2", "FH2", "CH", "EH2", "EH2+", "SDC"]),
    offset_mm=st.none() | st.integers(-300, 360).map(lambda halves: halves / 2),
    bolts=st.none() | st.integers(3, 10),
    bolt_circle_mm=st.none() | st.sampled_from([98, 100, 112, 114.3, 120.65, 139.7, 285.75, 335]),
    bore_mm=st.none() | st.integers(3500, 9790).map(lambda hundredths: hundredths / 100),
)
lorry_rims = st.builds(
    Rim,
    diameter_code=st.sampled_from([17.5, 19.5, 22.5, 24.5]),
    width_code=st.sampled_from([6, 6.75, 7.5, 8.25, 9, 11.75, 14]),
    flange=st.just(""),
    offset_mm=st.none() | st.integers(-30, 175),
    bolts=st.just(10),
    bolt_circle_mm=st.sampled_from([285.75, 335]),
    bore_mm=st.none() | st.sampled_from([176, 220.1, 281.2]),
)


def written(value, draw):
    """A number as people write it: 8.5, 8,5 or 8½, 7.50."""
    text = f"{value:g}"
    forms = [text, text.replace(".", ",")]
    if value % 1 in (0.25, 0.5, 0.75) and value > 1:
        forms.append(f"{int(value)}{ {0.25: '¼', 0.5: '½', 0.75: '¾'}[value % 1] }")
    if value % 1 == 0.5:
        forms.append(f"{int(value)} 1/2")
    if "." not in text:
        forms.append(f"{text}.0")
    return draw(st.sampled_from(forms))


def size_of(rim, draw):
    width, diameter = written(rim.width_code, draw), f"{rim.diameter_code:g}"
    times, gap = draw(st.sampled_from(["x", "X", "×", "*"])), draw(st.sampled_from(["", " "]))
    inch = draw(st.sampled_from(["", '"', " inch", " Zoll"]))
    if rim.flange == "MT":
        forms = [
            f"MT{width}{gap}{times}{gap}{diameter}",
            f"{diameter}M/C{gap}{times}{gap}MT{width}",
        ]
    elif not rim.flange:
        forms = [f"{width}{inch}{gap}{times}{gap}{diameter}{inch}", f"{diameter} {times} {width}"]
        forms += [f"{width}-{diameter}", f"{width}/{diameter}"]
    else:
        flange = rim.flange
        forms = [
            f"{width}{gap}{flange}{gap}{times}{gap}{diameter}{inch}",
            f"{diameter}{inch}{gap}{times}{gap}{width}{gap}{flange}",
            f"{width}{flange}-{diameter}",
            f"{width}{flange} {diameter}{inch}",
            f"{width}{flange}R{diameter}",
        ]
    size = draw(st.sampled_from(forms))
    glue = " " if inch and size.endswith(inch) else draw(st.sampled_from([" ", ""]))
    return size + glue + rim.hump if rim.hump else size


def offset_of(value, draw):
    text = f"{value:g}"
    signed = text if value < 0 else f"+{text}"
    label = draw(
        st.sampled_from(["ET", "ET ", "et", "ET=", "ET: ", "IS", "offset ", "Einpresstiefe "])
    )
    number = draw(st.sampled_from([text, f"{text}mm", text.replace(".", ",")]))
    return draw(st.sampled_from([label + number, f"{label}{signed}"]))


def bolts_of(rim, draw):
    circle = draw(st.sampled_from([f"{rim.bolt_circle_mm:g}", f"{rim.bolt_circle_mm:g} mm"]))
    if rim.bolts is None:
        return draw(st.sampled_from(["PCD", "PCD ", "LK ", "bolt circle "])) + circle
    plain = f"{rim.bolt_circle_mm:g}"
    return draw(
        st.sampled_from(
            [
                f"{rim.bolts}x{circle}",
                f"{rim.bolts} × {circle}",
                f"{rim.bolts}/{plain}",
                f"{rim.bolts}*{plain}",
                f"LK {rim.bolts}x{plain}",
                f"{rim.bolts}x{plain} PCD",
                f"{plain}x{rim.bolts}",
                f"{rim.bolts} hole {circle}",
                f"{rim.bolts} bolts PCD {plain}",
            ]
        )
    )


def bore_of(value, draw):
    text = f"{value:g}"
    label = draw(st.sampled_from(["CB", "CB ", "cb:", "ø", "centre bore ", "ML ", "NB", "DIA "]))
    return label + draw(st.sampled_from([text, f"{text} mm", text.replace(".", ",")]))


@st.composite
def markings(draw):
    """A rim, and one of the ways in which people write it: any order, any spelling."""
    rim = draw(rims | lorry_rims)
    if rim.bolts and rim.bolt_circle_mm is None:
        rim = replace(rim, bolts=None)
    words = [size_of(rim, draw)]
    if rim.offset_mm is not None:
        words.append(offset_of(rim.offset_mm, draw))
    if rim.bolt_circle_mm is not None:
        words.append(bolts_of(rim, draw))
    if rim.bore_mm is not None:
        words.append(bore_of(rim.bore_mm, draw))
    gap = draw(st.sampled_from([" ", ", ", "; ", "  ", " / ", " - "]))
    return rim, gap.join(draw(st.permutations(words)))


@example((Rim(10, 2, flange="MT", bolts=3, bolt_circle_mm=98), "98x3 MT2x10"))
@given(markings())
def test_every_order_and_spelling_is_read_back(written_rim):
    rim, text = written_rim
    answer = read_rim(text)
    assert answer.rim == rim, (text, answer)
    assert not answer.unsure
    assert not any("didn't use" in english(said) for said in answer.assumed), text


@given(rims | lorry_rims)
def test_writing_and_reading_a_rim_is_lossless(rim):
    assert read_rim(write_rim(rim)).rim == rim


metric = st.builds(
    Tyre,
    rim_code=st.sampled_from([13, 15, 16, 17, 18, 20, 17.5, 22.5]),
    width_mm=st.sampled_from([155.0, 185.0, 225.0, 315.0]),
    aspect=st.sampled_from([35.0, 55.0, 70.0, 80.0]),
    construction=st.sampled_from(["R", "ZR", "-"]),
    prefix=st.sampled_from(["", "P", "LT", "HL"]),
)
coded = st.builds(
    Tyre,
    rim_code=st.sampled_from([13, 15, 16, 18, 20, 22.5]),
    width_in=st.sampled_from([3.25, 4.1, 5.6, 6.5, 10.0, 11.0, 12.0]),
    construction=st.sampled_from(["R", "-"]),
)
lettered = st.builds(
    lambda letters, aspect, rim_code, construction: Tyre(
        rim_code, {"MH": 80, "MT": 130, "MU": 140}[letters], aspect, construction, letters
    ),
    st.sampled_from(["MH", "MT", "MU"]),
    st.sampled_from([85.0, 90.0]),
    st.sampled_from([15, 16, 21]),
    st.sampled_from(["B", "R", "-"]),
)


def tyre_size_of(tyre, draw):
    gap, code = draw(st.sampled_from(["", " "])), f"{tyre.rim_code:g}"
    build = f"{gap}{tyre.construction}{gap}"
    if tyre.prefix in ("MH", "MT", "MU"):
        return f"{tyre.prefix}{gap}{tyre.aspect:g}{build}{code}"
    if tyre.width_in is not None:
        width = draw(st.sampled_from([f"{tyre.width_in:g}", f"{tyre.width_in:.2f}"]))
        return f"{width}{build}{code}"
    slash = draw(st.sampled_from(["/", " / "]))
    return f"{tyre.prefix}{gap}{tyre.width_mm:g}{slash}{tyre.aspect:g}{build}{code}"


@st.composite
def tyre_markings(draw):
    """A tyre, and one of the ways in which its sidewall or its owner writes it."""
    tyre = draw(metric | coded | lettered)
    words = [tyre_size_of(tyre, draw)]
    load, dual = draw(st.none() | st.integers(40, 179)), draw(st.none() | st.integers(40, 179))
    speed = draw(st.sampled_from(["L", "S", "H", "W"]))
    if load is not None:
        pair = "" if dual is None else draw(st.sampled_from([f"/{dual}", f" / {dual}"]))
        gap = draw(st.sampled_from(["", " "]))
        words.append(f"{load}{pair}{gap}{speed}")
        tyre = replace(tyre, load_index=load, dual_load_index=dual, speed=speed)
    if draw(st.booleans()):
        words.append(draw(st.sampled_from(["XL", "Extra Load", "reinforced"])))
        tyre = replace(tyre, extra_load=True)
    words += draw(st.lists(st.sampled_from(["M+S", "TL", "DOT 2319", "16PR", "3PMSF"]), max_size=2))
    text = draw(st.sampled_from([" ", ", ", "  "])).join(words)
    return tyre, draw(st.sampled_from([text, text.lower()]))


@given(tyre_markings())
def test_every_spelling_of_a_tyre_is_read_back(written_tyre):
    tyre, text = written_tyre
    answer = read_tyre(text)
    assert answer.tyre == tyre, (text, answer)
    assert not any("didn't use" in english(said) for said in answer.assumed), text
