"""Pages to print: in themselves whole, small, and readable by eye and by ear."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest

from diagnose.consultation import Consultation
from diagnose.documents import paper
from diagnose.documents.as_text import STYLE
from diagnose.teaching.demonstration import case_journal
from diagnose.teaching.lesson import MINUTES, lesson
from tests.teaching.rounds import begin, played

LARGEST = 300_000  # bytes


class Outline(HTMLParser):
    """The tags of a page, and whether they close in order."""

    VOID = ("meta", "br", "path", "circle", "img")

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.open: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.tags.append(tag)
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: object) -> None:
        self.tags.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


@pytest.fixture(params=["lesson", "demonstration", "cause", "round", "new round", "sheet"])
def made(request, blank: Consultation) -> paper.Forms:
    knowledge = blank.reasoner.knowledge
    case = knowledge.causes["late-blight"].cases[0]
    match request.param:
        case "lesson":
            return paper.whole_lesson(lesson(case, "late-blight", blank))
        case "demonstration":
            return paper.demonstration(case_journal(case, blank), case.text, "Late blight")
        case "cause":
            return paper.cause(knowledge, "late-blight")
        case "round":
            return paper.practice(played(blank, 5, "Reds", "Blues"))
        case "new round":
            return paper.practice(begin(blank, 6))
    return paper.blank_sheet()


def test_a_page_needs_nothing_from_outside_and_is_small(made: paper.Forms) -> None:
    page = made[".html"]()
    assert len(page.encode()) < LARGEST
    outside = re.sub(r'xmlns="http://www.w3.org/2000/svg"', "", page)
    assert not re.search(r"<script|<link|<img|@import|url\(|src=|@font-face", outside)
    assert not re.search(r"""href=["']http""", outside)


def test_a_page_has_headings_in_order_and_closes_its_tags(made: paper.Forms) -> None:
    page = made[".html"]()
    found = Outline(page)
    assert found.open == []
    assert 'lang="en"' in page
    headings = [tag for tag in found.tags if re.fullmatch(r"h\d", tag)]
    assert headings[0] == "h1"
    assert set(headings) <= {"h1", "h2"}
    assert found.tags.count("h1") == found.tags.count("section")


def test_every_picture_says_in_words_what_it_shows(made: paper.Forms) -> None:
    page = made[".html"]()
    for picture in re.findall(r"<svg.*?</svg>", page, re.DOTALL):
        assert "<title>" in picture
        assert "<desc>" in picture


def test_the_key_stands_on_a_page_of_its_own(blank: Consultation) -> None:
    case = blank.reasoner.knowledge.causes["late-blight"].cases[0]
    page = paper.whole_lesson(lesson(case, "late-blight", blank))[".html"]()
    sheets = re.findall(r"<section>.*?</section>", page, re.DOTALL)
    assert len(sheets) == 3
    assert "Late blight" not in sheets[1]
    assert "Key: for who teaches" in sheets[2]
    assert "section + section { break-before: page; }" in page


def test_a_lesson_takes_25_minutes() -> None:
    assert sum(MINUTES.values()) == 25


def luminance(color: str) -> float:
    """Relative luminance, as WCAG 2.1 defines it (from memory)."""
    whole = color.lstrip("#")
    whole = "".join(c * 2 for c in whole) if len(whole) == 3 else whole
    parts = [int(whole[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    line = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * line[0] + 0.7152 * line[1] + 0.0722 * line[2]


def test_words_stand_out_from_the_page_in_light_and_dark() -> None:
    """At least 4.5 to 1, what WCAG 2.1 asks of text (success criterion 1.4.3, from memory)."""
    light, _, dark = STYLE.partition("prefers-color-scheme: dark")
    for part in (light, dark.partition("@media print")[0]):
        grounds = re.findall(r"background: (#\w+)", part)
        words = re.findall(r"(?<![-\w])color: (#\w+)", part)
        assert len(grounds) == 1
        assert len(words) == 2
        for word in words:
            high, low = sorted((luminance(word), luminance(grounds[0])), reverse=True)
            assert (high + 0.05) / (low + 0.05) >= 4.5
