"""Lists of garages: any text is read, each wrong cell has its reason, and the template is read."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.craft.bringing import Whereabouts
from portal.craft.geometry import usual_longest_mm
from portal.craft.messages import CraftError, Message
from portal.craft.parts import Bringing, Gloss, Item, Layer, PartKind, Remover, System, WheelBuild
from portal.render.catalogues import languages
from portal.render.reader import Reader
from portal.render.text import render
from portal.shop.lists.columns import ListColumn, OnThem, row_of, rows_from_json, rows_to_json
from portal.shop.lists.heading import MOST_ROWS, read_list
from portal.shop.lists.reading import read_row
from portal.shop.lists.table_text import read_table
from portal.shop.lists.template import template_lines
from portal.shop.lists.words import fold
from tests.craft.shelf import SHELF
from tests.shop.listed import WORDS, read, reading, rows

GOOD = {ListColumn.COUNT: "4", ListColumn.SIZE: "8J x 18 ET35", ListColumn.COLOUR: "BLACK"}
HEAD = "Your reference;How many;Size;Colour"


def wrong(column: ListColumn, text: str, **more: str) -> Message | None:
    """Return what is said beside one cell of an otherwise good row."""
    told = {ListColumn(name): cell for name, cell in more.items()}
    return read_row(row_of(1, {**GOOD, **told, column: text}), reading()).problems.get(column)


@given(st.text(max_size=400))
def test_any_text_is_read(text: str) -> None:
    for one in read(text):
        assert one.good is not bool(one.problems)
        assert all(isinstance(problem, Message) for problem in one.problems.values())


def test_what_the_order_refuses_is_told_beside_the_cell_that_it_came_from(monkeypatch) -> None:
    wrong = CraftError(Message("It won't do."), key="sets[0].finish.gloss")

    def refuse(_body: object) -> None:
        raise wrong

    monkeypatch.setattr("portal.shop.lists.reading.read_declared", refuse)
    found = read_row(row_of(1, GOOD), reading())
    assert found.problems == {ListColumn.COLOUR: wrong.sentence}
    assert found.declared is None


CELL = st.text(st.characters(codec="utf-8"), max_size=30)
LIKELY = st.sampled_from(
    ["4", "18", "wheels", "8J x 18", "BLACK", "?", "9" * 300, "1/0", "x x x", "1 x 2 x 3", "!", "²"]
)


@given(st.dictionaries(st.sampled_from(ListColumn), CELL | LIKELY))
def test_any_cells_are_read(cells: dict[ListColumn, str]) -> None:
    one = read_row(row_of(1, cells), reading())
    assert one.good is not bool(one.problems)


@given(st.lists(st.dictionaries(st.sampled_from(ListColumn), CELL), max_size=5))
def test_rows_are_kept_as_they_were_written(cells: list[dict[ListColumn, str]]) -> None:
    told = tuple(row_of(n, one) for n, one in enumerate(cells, 1))
    assert rows_from_json(rows_to_json(told)) == told


@pytest.mark.parametrize("language", list(languages()))
@pytest.mark.parametrize("separator", ["\t", ";", ","])
def test_what_the_template_writes_is_read_back(language: str, separator: str) -> None:
    lines = template_lines(lambda word: render(word, Reader(language)), SHELF["BLACK-S"])
    text = "\n".join(
        separator.join(f'"{cell}"' if separator in cell else cell for cell in line)
        for line in lines
    )
    first, second = read(text)
    assert not first.problems
    assert not second.problems
    wheels, plates = (one.declared.sets[0] for one in (first, second) if one.declared)
    assert (wheels.kind, wheels.count, wheels.build) == (PartKind.WHEEL, 4, WheelBuild.CAST)
    assert wheels.finish
    assert (wheels.finish.colour, wheels.finish.gloss) == ("BLACK-S", Gloss.SATIN)
    assert wheels.tyre
    assert wheels.rim
    assert wheels.rim.offset_mm == 35
    assert (plates.kind, plates.size_mm) == (PartKind.PLATE, (400, 300, 3))
    assert plates.finish
    assert plates.finish.decide_from_sample


@pytest.mark.parametrize("language", list(languages()))
def test_every_word_of_every_language_is_known_in_its_own_column(language: str) -> None:
    for kind, known in WORDS.known.items():
        for member in kind:
            title = render(member, Reader(language))
            assert known[fold(title)] in {member, *_same_titled(kind, title, language)}, title


def _same_titled(kind: type, title: str, language: str) -> list[object]:
    return [one for one in kind if fold(render(one, Reader(language))) == fold(title)]  # type: ignore[attr-defined]


def test_without_headings_the_order_is_the_templates() -> None:
    line = "AB-12,wheels,4,18,cast,original,kerb,with tyres,single,gloss,BLACK,2026-06-20,by hand"
    (one,) = read(line)
    assert one.row.cell(ListColumn.REFERENCE) == "AB-12"
    assert one.declared
    assert one.declared.sets[0].note == "by hand"
    assert one.wanted == date(2026, 6, 20)


def test_decimal_commas_stand_between_semicolons() -> None:
    (one,) = read(f"{HEAD}\nA;4;8,5J x 18 ET35;BLACK")
    assert one.declared
    assert one.declared.sets[0].rim
    assert one.declared.sets[0].rim.width_code == 8.5


def test_an_inch_sign_is_no_quotation_mark() -> None:
    one, two = read(f'{HEAD}\nA;4;"18" alloy;BLACK\nB;4;18";BLACK')
    assert one.row.cell(ListColumn.REFERENCE) == "A"
    assert two.declared is not None


def test_a_whole_name_means_that_colour_and_not_others_that_begin_so() -> None:
    told = read_row(row_of(1, {**GOOD, ListColumn.COLOUR: "soot Black"}), reading()).declared
    assert told is not None
    assert told.sets[0].finish
    assert told.sets[0].finish.colour == "BLACK"


def test_a_row_too_long_is_told_and_nothing_is_lost() -> None:
    (one,) = read(f"{HEAD}\nA;4;18;BLACK;and this")
    assert one.row.cell(ListColumn.REST) == "and this"
    assert ListColumn.REST in one.problems


def test_headings_that_mean_nothing_and_rows_too_many_are_told() -> None:
    text = "How many;Size;Colour;Price\n" + "4;18;BLACK;99\n" * (MOST_ROWS + 3)
    found = read_list(read_table(text), WORDS)
    assert (found.ignored, found.left_off, len(found.rows)) == (("Price",), 3, MOST_ROWS)


def test_a_good_row_is_an_order_as_the_counter_takes_it() -> None:
    told = read_row(row_of(1, GOOD), reading()).declared
    assert told is not None
    one = told.sets[0]
    assert (told.bringing, told.whereabouts) == (Bringing.COMPLETE, Whereabouts.OFF)
    assert one.removers[Item.TYRE] is Remover.US
    assert one.layers == (Layer.UNKNOWN,)
    assert one.finish
    assert one.finish.system is System.SINGLE


@pytest.mark.parametrize(
    ("on", "bringing", "where"),
    [
        (OnThem.TYRES, Bringing.COMPLETE, Whereabouts.OFF),
        (OnThem.TYRES_OFF, Bringing.BARE, Whereabouts.OFF),
        (OnThem.BARE, Bringing.BARE, Whereabouts.BARE),
    ],
)
def test_an_empty_cell_follows_the_standing_way(
    on: OnThem, bringing: Bringing, where: Whereabouts
) -> None:
    told = read_row(row_of(1, GOOD), reading(on)).declared
    assert told is not None
    assert (told.bringing, told.whereabouts) == (bringing, where)
    said = read_row(row_of(1, {**GOOD, ListColumn.ON_THEM: on.value}), reading()).declared
    assert said == told


@pytest.mark.parametrize(
    ("column", "text"),
    [
        (ListColumn.COUNT, "x"),
        (ListColumn.COUNT, "0"),
        (ListColumn.COUNT, "41"),
        (ListColumn.COUNT, "4,5"),
        (ListColumn.SIZE, "nothing of the kind"),
        (ListColumn.SIZE, "8J x 18, 225/45 R17"),
        (ListColumn.PARTS, "wheals"),
        (ListColumn.MADE_OF, "wood"),
        (ListColumn.OLD_FINISH, "original + gravy"),
        (ListColumn.DAMAGE, "hungry"),
        (ListColumn.ON_THEM, "perhaps"),
        (ListColumn.COATS, "seven"),
        (ListColumn.GLOSS, "very"),
        (ListColumn.COLOUR, "purple rain"),
        (ListColumn.COLOUR, "#FFFFFF"),
        (ListColumn.COLOUR, "soot"),
        (ListColumn.WANTED, "2026-06-01"),
        (ListColumn.WANTED, "30.2.2026"),
        (ListColumn.WANTED, "soon"),
        (ListColumn.REFERENCE, "r" * 61),
        (ListColumn.NOTE, "n" * 201),
    ],
)
def test_a_wrong_cell_has_its_reason_beside_it(column: ListColumn, text: str) -> None:
    said = wrong(column, text)
    assert said is not None
    assert render(said, Reader("en"))


@pytest.mark.parametrize("column", [ListColumn.COUNT, ListColumn.SIZE, ListColumn.COLOUR])
def test_what_a_row_needs_is_asked_for(column: ListColumn) -> None:
    assert wrong(column, "") is not None


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-06-20", date(2026, 6, 20)),
        ("20.6.2026", date(2026, 6, 20)),
        ("20/06/2026", date(2026, 6, 20)),
        ("20.6.", date(2026, 6, 20)),
        ("1.3", date(2027, 3, 1)),
    ],
)
def test_days_are_read_with_the_day_first(text: str, day: date) -> None:
    assert read_row(row_of(1, {**GOOD, ListColumn.WANTED: text}), reading()).wanted == day


def test_an_odd_size_is_asked_back_until_it_is_confirmed() -> None:
    told = {"parts": "table"}
    assert wrong(ListColumn.SIZE, "9 x 9 x 9 m", **told) is not None
    assert wrong(ListColumn.SIZE, "9 x 9 x 9 m!", **told) is None


def test_the_usual_longest_side_is_not_asked_back() -> None:
    _, longest = usual_longest_mm(PartKind.TABLE)
    told = {"parts": "table"}
    assert wrong(ListColumn.SIZE, f"{longest:g} x 9 x 9 mm", **told) is None
    assert wrong(ListColumn.SIZE, f"{longest + 1:g} x 9 x 9 mm", **told) is not None


def test_a_part_of_no_kind_keeps_its_name() -> None:
    cells = {**GOOD, ListColumn.PARTS: "other: lamp base", ListColumn.SIZE: "300 x 200 x 40 mm"}
    told = read_row(row_of(1, cells), reading()).declared
    assert told is not None
    assert (told.sets[0].kind, told.sets[0].what) == (PartKind.OTHER, "lamp base")


def test_a_kind_without_a_price_is_refused() -> None:
    by = replace(reading(), kinds=frozenset({PartKind.WHEEL}))
    cells = {**GOOD, ListColumn.PARTS: "chair"}
    assert ListColumn.PARTS in read_row(row_of(1, cells), by).problems


def test_the_rows_of_a_long_text_end_somewhere() -> None:
    assert len(rows("4;18;BLACK\n" * 100_000)) <= MOST_ROWS
