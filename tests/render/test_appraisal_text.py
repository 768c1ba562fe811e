"""The appraisal of an order file: text, JSON, errors with their line, and speed."""

import argparse
import json
import re
import subprocess
import sys
from contextlib import suppress
from dataclasses import fields
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.cli import appraising
from portal.craft.bringing import NewTyres, Whereabouts
from portal.craft.check_kinds import Found
from portal.craft.messages import CraftError
from portal.craft.parts import (
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
    System,
    Usage,
    WheelBuild,
)
from portal.craft.registration import Permission
from portal.render.appraisal_data import data_of
from portal.render.appraisal_text import text_of
from portal.render.reader import reader_for
from portal.shop.appraisal import appraise_file
from tests.readers import english

HOUSE = Path(__file__).resolve().parents[2]
SEED = HOUSE / "demo_seed"
SHOP = (SEED / "shop.toml").read_text("utf-8")
POWDERS = (SEED / "powders.csv").read_text("utf-8")
ORDERS = sorted((SEED / "orders").glob("*.toml"))
SHAPES = (Declared, PartSet, FinishChoice, OwnCosts)
WORDS = (
    *(BareZone, Bringing, Closed, Damage, FaceStyle, Found, Gloss, Item),
    *(
        Layer,
        Making,
        Metal,
        NewTyres,
        PartKind,
        Permission,
        Remover,
        System,
        Usage,
        Whereabouts,
        WheelBuild,
    ),
)
BRONZE = (SEED / "orders" / "four_bronze_wheels.toml").read_text("utf-8")


def appraised(text: str) -> tuple[str, dict]:
    found = appraise_file(text, SHOP, POWDERS)
    reader = reader_for(found.shop)
    return text_of(found, reader), data_of(found, reader)


def test_there_are_six_varied_examples() -> None:
    assert len(ORDERS) >= 6
    kinds = {
        one["kind"] for path in ORDERS for one in appraised(path.read_text())[1]["order"]["sets"]
    }
    assert {"wheel", "caliper", "railing", "frame", "chair", "table", "other"} <= kinds


@pytest.mark.parametrize("path", ORDERS, ids=lambda path: path.stem)
def test_every_example_is_appraised_as_text_and_json(path: Path) -> None:
    text, data = appraised(path.read_text("utf-8"))
    assert json.loads(json.dumps(data)) == data
    for word in ("Price", "Days", "After pickup", "Old finish", "Masked or kept bare"):
        assert word in text or not data["can_be_booked"]
    assert not data["can_be_booked"] or data["price"]["total"] in text.replace(",", "")
    assert max(len(line) for line in text.splitlines()) < 200


def test_the_lines_in_the_json_add_up_to_its_total() -> None:
    _, data = appraised(BRONZE)
    lines = [round(float(one["amount"]) * 100) for one in data["price"]["lines"]]
    assert sum(lines) == round(float(data["price"]["total"]) * 100)


MAGNESIUM = """[[sets]]
kind = "wheel"
count = 4
build = "magnesium"
rim = "8Jx18 ET35"
"""


@pytest.mark.parametrize(
    ("order", "why"),
    [
        ((SEED / "orders" / "cracked_multi_piece.toml").read_text("utf-8"), "crack"),
        (MAGNESIUM, "magnesium"),
    ],
)
def test_a_refused_order_ends_with_its_refusal(order: str, why: str) -> None:
    text, data = appraised(order)
    assert data["can_be_booked"] is False
    assert not {"price", "ways", "working_days", "refit"} & data.keys()
    last = text[text.index("This order can't be booked as it is") :]
    assert why in last
    for word in ("0.00", "Price", "After pickup", "Ways of bringing", "torque"):
        assert word not in text


def test_the_way_off_names_each_step_without_contradicting_itself() -> None:
    text, _ = appraised(MAGNESIUM.replace('"magnesium"', '"cast"\nlayers = ["powder"]'))
    assert "Old finish: Chemical stripping at a partner company, Blasting" in text
    assert "only" not in text[text.index("Old finish:") : text.index("Why")]


def test_what_a_marking_leaves_unsure_is_asked() -> None:
    order = MAGNESIUM.replace('"magnesium"', '"cast"').replace("ET35", "5x112 45")
    text, data = appraised(order)
    assert "We don't know what 45 is." in text
    assert data["sets"][0]["markings"]["rim_unsure"]


@pytest.mark.parametrize("text", ["", " \n", "# nothing\n", "sets = []\n", "rush = true\n"])
def test_an_order_without_parts_is_refused(text: str) -> None:
    assert "names no parts" in english(refusal(text).sentence)


def command(*words: str, capsys) -> tuple[int, str, str]:
    parser = argparse.ArgumentParser()
    appraising.arguments("appraise", parser)
    code = appraising.run("appraise", parser.parse_args(words))
    told = capsys.readouterr()
    return code, told.out, told.err


def test_a_file_that_cannot_be_read_gets_one_plain_line(tmp_path, capsys) -> None:
    latin, folder, missing = tmp_path / "latin.toml", tmp_path / "folder", tmp_path / "missing.toml"
    latin.write_bytes('note = "Räder"'.encode("latin-1"))
    folder.mkdir()
    order = str(SEED / "orders" / "four_bronze_wheels.toml")
    for words, says in (
        ([str(missing)], f"There is no file {missing}."),
        ([str(latin)], f"{latin} is not a text in UTF-8. Save it as UTF-8."),
        ([str(folder)], f"We can't read {folder}."),
        ([order, "--shop", str(missing)], f"There is no file {missing}."),
        ([str(missing), "--language", "de"], f"Es gibt keine Datei {missing}."),
    ):
        assert command(*words, capsys=capsys) == (2, "", f"{says}\n")


def test_a_wrong_order_names_its_file_and_nothing_is_printed(tmp_path, capsys) -> None:
    empty = tmp_path / "empty.toml"
    empty.write_text("")
    code, out, err = command(str(empty), capsys=capsys)
    assert (code, out) == (2, "")
    assert err.startswith(f"{empty}: ")
    assert "names no parts" in err


def test_a_file_with_a_byte_order_mark_is_read(tmp_path, capsys) -> None:
    file = tmp_path / "marked.toml"
    file.write_text(BRONZE, encoding="utf-8-sig")
    code, out, err = command(str(file), capsys=capsys)
    assert (code, err) == (0, "")
    assert "It can be booked." in out


def refusal(text: str, shop: str = SHOP) -> CraftError:
    with pytest.raises(CraftError) as caught:
        appraise_file(text, shop, POWDERS)
    return caught.value


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ("count = 4", "count = 4000", "sets[0].count"),
        ("count = 2", "count = 0", "sets[1].count"),
        ('face = "split_spokes"', 'fase = "split_spokes"', "sets[0].fase"),
        ('layers = ["bare"]', 'layers = ["bare", "gold"]', "sets[1].layers[1]"),
        ('colour = "R3020-G"', 'colour = "R9999-G"', "sets[1].finish.colour"),
        ('centre_cap = "you"', 'centre_cap = "me"', "sets[0].removers.centre_cap"),
        ('rim = "8½J×18 H2 ET35 5x112 66.6"', 'rim = "8½J×3"', "sets[0].rim"),
        ('bringing = "complete"', 'bringing = "lorry"', "bringing"),
    ],
)
def test_an_error_names_the_key_and_its_line(old: str, new: str, key: str) -> None:
    assert BRONZE.count(old) == 1
    wrong = refusal(BRONZE.replace(old, new))
    line = BRONZE[: BRONZE.index(old)].count("\n") + 1
    assert wrong.key == key
    assert f"line {line}, {key}:" in english(wrong.sentence)


def test_a_missing_key_is_named_with_the_line_of_its_table() -> None:
    wrong = refusal(BRONZE.replace("count = 2\n", ""))
    assert wrong.key == "sets[1].count"
    second = BRONZE.rindex("[[sets]]")
    assert f"line {BRONZE[:second].count(chr(10)) + 1}," in english(wrong.sentence)


def test_a_file_that_is_not_toml_says_where() -> None:
    assert "line 1" in english(refusal("bringing = = 3").sentence)


def test_an_error_in_the_shop_file_names_its_line_too() -> None:
    wrong = refusal(BRONZE, SHOP.replace('minimum = "45.00"', "minimum = 45.0"))
    line = SHOP[: SHOP.index('minimum = "45.00"')].count("\n") + 1
    assert f"the shop file, line {line}, prices.minimum" in english(wrong.sentence)


@given(st.text(max_size=200))
def test_any_text_at_all_is_appraised_or_refused_by_our_own_error(text: str) -> None:
    with suppress(CraftError):
        appraised(text)


def test_the_command_line_answers_and_imports_nothing_heavy() -> None:
    """How long it takes is printed by `make bench`; this keeps it from becoming slow."""
    order = str(SEED / "orders" / "four_bronze_wheels.toml")
    call = [sys.executable, "-X", "importtime", "-m", "portal", "appraise", order, "--json"]
    done = subprocess.run(call, capture_output=True, text=True, cwd=HOUSE, check=True)
    assert json.loads(done.stdout)["can_be_booked"] is True
    imported = set(re.findall(r"\| +(\S+)$", done.stderr, flags=re.M))
    assert "portal.shop.pricing.quote" in imported
    heavy = {"numpy", "flask", "sqlalchemy", "coloraide", "weasyprint", "jinja2"}
    heavy |= {"icalendar", "holidays"}
    assert not heavy & imported


def test_the_document_of_order_files_names_every_key_and_every_word() -> None:
    text = (SEED / "orders" / "README.md").read_text("utf-8")
    named = set(re.findall(r"`([a-z_0-9]+)`", text))
    words = {str(word) for kind in WORDS for word in kind}
    keys = {field.name for shape in SHAPES for field in fields(shape)}
    assert words | keys <= named
    # and nothing that no file may say: what stands in code there is a word, a key, or true
    assert named - words - keys <= {"true", "price"}
