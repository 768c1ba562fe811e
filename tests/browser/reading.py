"""What a person reads on a page: the words that are shown, and how tall the page is.

A word is a run of letters or digits that can be seen: not in a closed fold, not in what only
screen readers hear, not in ink as clear as the ground. What protects a person stays open and is
not counted: notes of caution and refusal, and whatever is marked `data-safety`.
"""

from dataclasses import dataclass

from playwright.sync_api import Page, expect

WORDS = r"""() => {
  const clear = (e) => /, 0\)$/.test(getComputedStyle(e).color);
  const shown = (e) =>
    e.checkVisibility({ visibilityProperty: true, contentVisibilityAuto: true }) &&
    !e.closest(".unseen, .skip, [hidden], script, style, title, desc") &&
    !clear(e);
  const careful = '.note[data-kind="caution"], .note[data-kind="stop"], [data-safety]';
  const safety = (e) => e.closest(careful);
  const found = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    const at = node.parentElement;
    if (at.closest("select") || !shown(at) || safety(at)) continue;
    found.push(...(node.data.match(/[\p{L}\p{N}][\p{L}\p{N}.,:'’@£€$%°/×-]*/gu) || []));
  }
  for (const list of document.querySelectorAll("select")) {
    const chosen = shown(list) ? list.selectedOptions[0]?.text || "" : "";
    found.push(...(chosen.match(/[\p{L}\p{N}]\S*/gu) || []));
  }
  return found.length;
}"""


@dataclass(frozen=True, slots=True)
class Read:
    """One page: its words, and its height in pixels."""

    words: int
    height: int

    @property
    def screens(self) -> float:
        """How many screens of a phone 844 px high it fills."""
        return self.height / 844


def read(page: Page) -> Read:
    """Measure the page as it stands once the live price has come."""
    expect(page.locator("html[data-lives=asking]")).to_have_count(0)
    return Read(
        words=page.evaluate(WORDS),
        height=page.evaluate("() => document.documentElement.scrollHeight"),
    )
