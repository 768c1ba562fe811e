"""Which tests a quick run (`make test`) leaves to a deep one (`make test-deep`), and why.

What is left out is a further variant of something that a quick run tries once: the other window,
the other database, the next customer of many. Who names a file or a test runs all of it.
"""

import re
from functools import cache
from pathlib import Path

import pytest

from tests.deep import DEEP

# the pattern of a test's name behind `tests/`, and what a quick run tries instead
LEFT: dict[str, str] = {
    # in a browser: each flow once, on a telephone or at a desk, with script or without
    r"browser/test_after_booking.*\[sqlite-no script\]": "with script",
    r"browser/test_camera.*(own_reader|hard_pictures)": "a printed slip is read",
    r"browser/test_ask.*\[sqlite-(phone-without|desktop-with(out)?) script\]": "one of four",
    r"browser/test_counter\.py.*(opened_without|shared_device|going_back|by_scan)": "the others",
    r"browser/test_counter\.py.*-(scripts-phone|no-scripts-desktop)\]": "the other two of four",
    r"browser/test_counter_day.*a_walk_in_and_a_caller": "both alone, in tests/web",
    r"browser/test_counter_day.*code_in_the_wrong_field": "in tests/web/test_hand_back_page.py",
    r"browser/test_customers.*\[sqlite-(2|3|8|14|25)\]": "one of six customers",
    r"browser/test_five_flows.*(staggered|calipers|garden)": "the other two of five flows",
    r"browser/test_five_flows.*bare_wheels.*no-scripts\]": "on a telephone",
    r"browser/test_five_flows.*complete_wheels.*-phone\]": "at a desk, without script",
    r"browser/test_garage.*desktop\]": "on a telephone",
    r"browser/test_gauge\.py.*\[sqlite-True\]": "without script; the others have it",
    r"browser/test_gauge\.py.*(eye_is_asked|from_elsewhere)": "the others",
    r"browser/test_gauge_set.*what_was_typed": "in tests/web",
    r"browser/test_lock.*too_late": "locked and opened",
    r"browser/test_new_order.*from_the_door": "four wheels with tyres",
    r"browser/test_old_finish.*one_cracked.*-(desktop-with|phone-without|phone-with) ": "one of 4",
    r"browser/test_old_finish.*how_many.*without script\]": "with script",
    r"browser/test_old_finish.*(home_beside|not_knowing)": "damage and a cracked wheel",
    r"browser/test_page_turns.*\[sqlite-today\]": "on the floor",
    r"browser/test_page_turns.*(chosen_part|refused_tag_stays|after_all|begins_before)": "others",
    r"browser/test_shelf_places.*\[sqlite-False\]": "the other device",
    r"browser/test_slip_print.*\[sqlite-(1|2|6|full)-Letter\]": "A4",
    r"browser/test_slip_print.*\[sqlite-(1|2|6)-A4\]": "a full slip",
    r"browser/test_sixty.*telephone": "at a desk",
    r"browser/test_story.*after_a_day": "a draft that goes on, in tests/web",
    r"browser/test_story.*\[sqlite-no-scripts\]": "with script; without it in test_five_flows",
    r"browser/test_two_devices.*strip_run": "in tests/web",
    r"browser/test_two_devices.*change_the_prices": "a second save, in test_counter.py",
    r"browser/test_two_in_the_office.*(weighs_a|what_others|whoever_leaves)": "a closure",
    r"browser/test_two_people.*(shelf_is|each_sees|locked_tablet)": "who is late, who came",
    r"browser/test_two_people.*(move_is|load_runs|what_differs)": "who is late, who came",
    r"browser/layout/test_keyboard.*\[sqlite-(phone-with(out)?|desktop-without) ": "one of four",
    r"browser/layout/test_valid_html.*what_is_wrong": "whether the checker finds anything",
    r"browser/layout/test_weight.*jumps\[(on|comes|finish|day|read|status (re|in|ha))": "others",
    r"browser/layout/test_weight.*-(gzip-(de|es)|br-(en|es))\]": "gzip in English, br in German",
    # random customers, kills and states: few of many
    r"customers/test_customers.*a_seed_alone": "that a seed repeats its customer",
    r"customers/test_faults.*without_a_fault": "the same customers, among the others",
    r"customers/test_faults.*\[another (sum on the status|day|count)": "another sum on the slip",
    r"customers/test_faults.*\[an English sentence that": "one that a catalogue knows",
    r"customers/test_faults.*\[(a page that can't|a tag that is not|a placeholder)": "the others",
    r"customers/test_garages.*-(3|4)\]": "two of four garages",
    r"faults/test_faults.*after_kills\[PostgreSQL\]": "kills on SQLite",
    r"machine/.*(any_verb_at_any_moment\[postgres|planted_fault)": "SQLite",
    r"day/test_day.*a_day_adds_up\[postgres": "SQLite",
    r"orders/test_(account|months)_add.*\[postgres": "SQLite",
    r"load/.*(window_has_its_places|signed_in_on_one|worker_sends|telephone_number)": "the others",
    # parts and ways through the pages: some of each
    r"web/test_intake_comes_off.*last_page\[sqlite-(?!caliper|bench|tube)": "three kinds of part",
    r"web/test_intake_other_parts.*is_booked\[sqlite-(?!bumper|chair|plate|other)": "four kinds",
    r"web/test_checks_walk.*\[sqlite-by_page\]": "where answers are kept",
    r"web/test_assessed_once.*\[sqlite-four wheels\]": "three sets",
    r"web/test_one_price.*they_are_told\[sqlite-([4-9]|1\d)\]": "four of twelve orders",
    r"web/test_life_by_link.*life_of_an_order.*\[postgres": "SQLite",
    r"web/test_ask.*and_back_to_itself\[sqlite-(on-them|comes-off|finish|you)\]": "three pages",
    r"web/test_permissions.*without_a_token\[sqlite-(counter|floor)\]": "nobody and the office",
    # paper, languages, commands
    r"cli/test_slow.*no_trick.*\[(Content-Length: (0|6|7)|Transfer.*no number)": "other lengths",
    r"cli/test_move.*differs_is_noticed.*\[sqlite-(UPDATE|DELETE)": "a row too many",
    r"web/test_slip.*page_of_its_paper\[sqlite-(1-letter|2-a4|2-letter|6-a4)\]": "one of each",
    r"web/test_names.*(pdf|from_the_form).*\[sqlite-(?!Cyrillic|Hebrew|Korean)": "three scripts",
    r"web/test_languages_commands.*line_comes.*\[(old|six|bare|cracked)": "the other orders",
    r"web/test_languages_complete.*of_the_customers_pages": "every page in every state",
    r"web/test_languages_paper.*no_longer.*-letter\]": "A4",
    r"web/test_every_paper.*-letter\]": "A4",
    r"web/test_new_station.*without_the_migration": "with it",
    r"cli/test_in_earnest.*never_changes": "the first booking of a new shop",
    r"cli/test_move.*random_rows.*-(2|3)\]": "one of three seeds",
    r"house/test_demo.*another_day": "the demo of one day",
    # forms of a database: on SQLite, and one walk of each on PostgreSQL
    r"store/test_(logs_)?carried_over.*\[postgresql": "SQLite; there, down and up again with data",
    r"store/test_migrations.*up_again_with_data\[sqlite": "PostgreSQL; here, test_carried_over.py",
    r"store/test_released.*\[postgresql": "SQLite",
    r"race/test_killed.*(speaks_before|killed_one).*\[postgres": "SQLite",
    r"notices/test_outbox.*without_the_guard.*\[postgres": "SQLite",
    r"shop/test_simulated_shop.*\[0\.5": "a load of 0.8",
    r"shop/test_simulated_shop.*(likely_moment|expects_nobody)": "promises that are kept",
    r"shop/test_simulated_shop.*(in_md1|as_erlang)": "as in M/M/1",
    r"orders/test_rework.*put_right\[postgres": "SQLite",
    r"orders/test_shelving.*puts_it_there\[postgres": "SQLite",
}
# each page is looked at in one way, in one look and in one size of window, and every third in
# German besides; in a deep run in all of them
WAYS = (r"no_width_makes|every_target", r"wider_spacing|has_focus|too_weak|forced_colours")
GERMAN = (r"in_german", "$^", "$^")
LOOKS = (r"too_weak\[.*-light\]", r"too_weak\[.*-dark\]", r"forced_colours\[")
SIZES = (
    r"has_focus.*-\(390, 844\)\]",
    r"has_focus.*-\(1280, 720\)\]",
    r"has_focus.*-\(320, 256\)\]",
)


def divide(items: list[pytest.Item]) -> tuple[list[pytest.Item], list[pytest.Item]]:
    """Return what a quick run takes and what it leaves out."""
    taken, left = [], []
    for item in items:
        (left if _is_left(item) else taken).append(item)
    return taken, left


def wrong(taken: list[pytest.Item], left: list[pytest.Item]) -> list[str]:
    """Return what is wrong with the list, asked of a run of all tests.

    Each pattern leaves something out, and of each file that loses tests some stay.
    """
    names = [_name(item) for item in left]
    idle = [one for one in LEFT if not any(re.search(one, name) for name in names)]
    gone = {item.path for item in left} - {item.path for item in taken}
    return [f"{one} leaves nothing out" for one in idle] + [
        f"nothing stays of {one}" for one in gone
    ]


def is_quick(config: pytest.Config) -> bool:
    """Whether the run is quick and was asked for whole folders."""
    named = [one.partition("::")[0] for one in config.args]
    return not DEEP and not any(Path(one).is_file() for one in named)


def few(states: list[str]) -> list[str]:
    """Return the first state of each page of the catalogue; a deep run takes all."""
    pages: dict[str, str] = {}
    for one in states:
        pages.setdefault(one.partition(",")[0], one)
    return list(pages.values())


def _is_left(item: pytest.Item) -> bool:
    name = _name(item)
    return any(re.search(pattern, name) for pattern in LEFT) or (
        name.startswith("browser/layout/") and _is_another_look(item, name)
    )


def _name(item: pytest.Item) -> str:
    return item.nodeid.removeprefix("tests/")


def _is_another_look(item: pytest.Item, name: str) -> bool:
    """Whether a page of the catalogue is in a state or a look that a quick run leaves out."""
    params = (
        item.callspec.params
        if isinstance(item, pytest.Function) and hasattr(item, "callspec")
        else {}
    )
    state = params.get("judge", params.get("name"))
    if state is None:
        return False
    taken = _taken_states()
    if state not in taken:
        return True
    number = taken[state]
    variants = ((WAYS, number), (LOOKS, number), (SIZES, number // len(LOOKS)), (GERMAN, number))
    return any(_is_another(name, of, turn % len(of)) for of, turn in variants)


def _is_another(name: str, variants: tuple[str, ...], taken: int) -> bool:
    """Whether a test is one of these variants and not the one that is taken."""
    found = [n for n, one in enumerate(variants) if re.search(one, name)]
    return bool(found) and found[0] != taken


@cache
def _taken_states() -> dict[str, int]:
    from tests.browser.layout.pages import names

    return {name: number for number, name in enumerate(few(names()))}
