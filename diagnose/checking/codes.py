"""Every finding that `diagnose check` can make: its code, how grave it is, what it means.

Each code has a page in docs/findings/ and a test in tests/kb/test_findings.py. Codes are stable:
a check may be refined, but a code is neither renamed nor given another meaning.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

Severity = Literal["error", "warning"]

SEVERITIES: dict[Severity, str] = {
    "error": "the knowledge cannot be used before it is mended",
    "warning": "it can be used, but may mislead or does less than it says",
}


class Code(NamedTuple):
    """How grave a finding is, and what it means, in one line."""

    severity: Severity
    meaning: str


def _codes(severity: Severity, meanings: dict[str, str]) -> dict[str, Code]:
    return {code: Code(severity, meaning) for code, meaning in meanings.items()}


CODES: dict[str, Code] = {
    **_codes("error", {
        # the files
        "file-unreadable": "a file or folder cannot be read, or went away while it was read",
        "file-too-large": "a file is larger than anyone could maintain",
        "not-utf8": "a file is not in UTF-8",
        "not-yaml": "a file is not YAML",
        "tab": "a tab stands in an indent",
        "alias": "an anchor or alias is used",
        "empty-file": "a file holds nothing",
        "missing-file": "a file is missing without which nothing works",
        "unknown-file": "a file or folder that is none of the knowledge",
        "unknown-kind": "a cause stands in a folder that is no kind of cause",
        # their shape
        "bad-id": "an id with other characters than small letters, digits and dashes",
        "duplicate-id": "two entries have one id",
        "duplicate-key": "a key stands twice in one entry",
        "key-not-text": "a key is not a plain word",
        "missing-key": "an entry lacks a key that it must have",
        "unknown-key": "an entry has a key that means nothing",
        "wrong-shape": "a list, keys or text where something else belongs",
        "wrong-value": "a value that is not allowed, as a word outside its scale",
        "yes-or-no": "a bare word that YAML may read as a truth value",
        # what they say
        "bad-pattern": "a regular expression that cannot be read",
        "bad-number": "a number of the reasoning that makes no sense where it stands",
        "bad-place": "the place assumed has no such day, or its frosts the wrong way round",
        "bad-range": "a band of numbers that is not a lowest and a highest",
        "bad-season": "a season whose moments cannot be read",
        "format-newer": "a folder has a form that this program cannot read yet",
        "overlay-loosens": "a folder laid over another takes back what safety.yaml demands",
        "called-food": "a text calls food what may never be",
        "caution-astray": "a caution of measures where no measure calls for it",
        "caution-missing": "a measure without a caution that its words call for",
        "drawn-twice": "two drawings show the same form",
        "missing-number": "a word of a scale has no number",
        "not-derived": "a rule concludes what is given or asked",
        "phone-astray": "a telephone number that safety.yaml does not have",
        "product-or-dose": "a text names a pesticide or a home brew, or doses something",
        "retired-id": "an id that is no longer used",
        "rule-empty": "a rule without a condition or without a conclusion",
        "rule-too-big": "a rule with more conditions or ways than the engines can take",
        "safety-broken": "an entry lacks what safety.yaml says that it must carry",
        "unknown-id": "an entry names something that is not there",
        "value-reserved": "a value of a symptom has a name that means something else",
    }),
    **_codes("warning", {
        "against-handbook": "a published figure, or what the trade does, stands otherwise here",
        "always-rule": "a rule fires always, so it decides nothing",
        "bad-case": "a case cannot be worked",
        "baseline-astray": "a baseline that cannot be used, or is of another knowledge",
        "case-changed": "a described case is not as it was approved",
        "case-not-first": "the cause of a case does not come first",
        "case-out-of-season": "a case on a day when its cause is long out of season",
        "case-twice": "one described case stands in two places",
        "cases-fell": "cases came out better in the baseline",
        "change-without-gain": "what a cause shows changed since the baseline, and no case gains",
        "code-twice": "two entries have one code, though they share no name",
        "dead-rule": "a rule can never fire",
        "eaten-too-freely": "a harvest text forbids something, while eat says as usual",
        "eaten-without-limit": "eat says never or some, while the harvest text forbids nothing",
        "empty-phrase": "a phrase in which no word of weight is left",
        "evidence-off-host": "evidence on a part that no host of the cause has",
        "evidence-over-full": "the values of one symptom add up to more than always",
        "few-cases": "a cause with fewer than two cases",
        "hard-to-read": "text for gardeners above reading grade 8",
        "harvest-before-sowing": "a crop would be harvested before it is sown",
        "helper-missing": "first aid sends to someone whom the danger does not name",
        "line-idle": "an evidence line that changes nothing, and that no case states",
        "line-turned": "an evidence line says the opposite of what was approved",
        "look-alike-not-told": "nothing tells a cause from one that it is said to look like",
        "look-alike-one-way": "a look-alike that does not name the cause in return",
        "look-alike-twice": "one sentence tells a cause from two others",
        "loosened": "a caution, referral or ban of the baseline is gone or weaker",
        "measure-twice": "a measure stands under now where it is, or also is, for next season",
        "measures-contradict": "two measures of one cause exclude one another",
        "name-of-another": "a cause is also called by the name of another on its crops",
        "name-twice": "two entries have one name",
        "negative-question": "a question to which a yes says no",
        "never-derived": "a derived symptom that no rule concludes",
        "no-measure": "a cause to act on, with nothing to do",
        "no-source": "an entry that names no source",
        "none-alone": "an evidence line that says only how often the symptom is absent",
        "number-astray": "a number with a unit that nothing in a garden has",
        "odd-character": "a character that looks like a plain one, or an odd end of line",
        "overlays-disagree": "two folders laid over the base set one thing differently",
        "rule-against-cause": "a rule rules a cause out on what its own file says is likely",
        "rule-loop": "rules that feed their own premises",
        "same-phrase": "a phrase that reads as two different things",
        "season-never-opens": "a season that is closed all year at the place assumed",
        "silence-idle": "a comment that lets a warning stand, but has no reason or no warning",
        "skips-the-ladder": "a plan that begins above the gentlest rungs",
        "source-without-address": "an opened source that does not say where",
        "to-do": "a gap that its writer has marked",
        "too-little-evidence": "a cause that hardly anything could point to",
        "twins": "two causes on one host that no symptom tells apart",
        "units-disagree": "a figure that is another one in its second unit",
        "unread-change": "what can hurt someone, or no case tells of, is not as it was approved",
        "unreachable-cause": "a cause that can never be found",
        "unused-conclusion": "a rule concludes what nothing uses",
        "unused-id": "an entry that nothing uses",
        "value-unused": "a value of a symptom that no cause names",
    }),
}  # fmt: skip


def severity(code: str) -> Severity:
    """How grave a finding with this code is."""
    return CODES[code].severity
