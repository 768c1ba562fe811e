"""Where a key stands in a TOML file, so that an error can name its line."""

from portal.shop.toml_lines import line_of


def test_lines_are_found_in_every_form_of_toml() -> None:
    text = '''a = 1
[b.c]
d = """
x = 1
"""
x = 2
[[s]]
k = 1
[s.t]
u.v = 3
[[s]]
[[s.r]]
"q w" = 1
[[s.r]]
k = { z = 1 }
'''
    assert line_of(text, "a") == 1
    assert line_of(text, "b.c.x") == 6
    assert line_of(text, "s[0].t.u.v") == 10
    assert line_of(text, "s[1].r[0].q w") == 13
    assert line_of(text, "s[1].r[1].k.z") == 15
    assert line_of(text, "s[1].missing") == 11
    assert line_of(text, "nowhere") is None
