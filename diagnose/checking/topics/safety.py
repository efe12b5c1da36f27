"""Nobody is harmed: what safety.yaml says, cautions where they belong, no product and no recipe."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache, lru_cache

import msgspec

from diagnose.checking.subject import Subject, pairs
from diagnose.kb.model import Cause, Must, Products
from diagnose.kb.reader import Finding
from diagnose.reasoning import facts

DOSE = re.compile(
    r"\b\d[\d./]*\s*(?:ml|millilit(?:er|re)s?|fl oz|oz|ounces?|tsp|tbsp|teaspoons?|tablespoons?"
    r"|grams?|g|lbs?|pounds?|cups?|ppm|%|parts?)(?!\w)"
    r"|\b(?:teaspoons?|tablespoons?|ounces?|grams?|cups?|pounds?) (?:of|per|to)\b"
    r"|\bper (?:gallon|lit(?:er|re)|quart|pint)\b",
    re.IGNORECASE,
)
PHONE = re.compile(r"\b(?:\d{1,3}[-. ])?\(?\d{3}\)?[-. ]\d{3}[-. ]\d{4}\b")
CALLED = {"poison-center": "poison center", "emergency-number": "emergency number"}
SENTENCE = re.compile(r"(?<=[.!?;:])\s+")


def _patterns(subject: Subject) -> Iterator[tuple[tuple[str, ...], str]]:
    """Every regular expression of the knowledge, with the path to it."""
    for caution_id, caution in subject.knowledge.cautions.items():
        if caution.measure:
            yield ("cautions", caution_id, "measure"), caution.measure
    safety = subject.knowledge.safety
    for cause_id, must in safety.must.items():
        if must.harvest:
            yield ("safety", "safety", "must", cause_id, "harvest"), must.harvest
    for kind, said in safety.says.items():
        for entry_id, words in said.items():
            for number, word in enumerate(words):
                yield ("safety", "safety", "says", kind, entry_id, str(number)), word
    for name, never in safety.never.items():
        yield ("safety", "safety", "never", name, "says"), never.says
    if "safety" not in subject.broken:
        for key in ("names", "stuffs", "doings", "praises", "forbids", "spared"):
            for number, word in enumerate(getattr(safety.products, key)):
                yield ("safety", "safety", "products", key, str(number)), word


def _readable(pattern: str) -> bool:
    try:
        re.compile(pattern)
    except re.error:
        return False
    return True


def patterns(subject: Subject) -> Iterator[Finding]:
    """bad-pattern: regular expressions that cannot be read."""
    for path, pattern in _patterns(subject):
        if not _readable(pattern):
            yield subject.finding(
                path, "bad-pattern", f"{pattern!r} is no regular expression; look at its brackets"
            )


def names(subject: Subject) -> Iterator[Finding]:
    """unknown-id: what safety.yaml and the `excludes` and `fits` of measures name."""
    knowledge = subject.knowledge
    for cause_id, must in knowledge.safety.must.items():
        at = ("safety", "safety", "must", cause_id)
        yield from subject.unknown(at, "causes", "cause", cause_id, knowledge.causes)
        if must.referral:
            yield from subject.unknown(
                (*at, "referral"), "referrals", "referral", must.referral, knowledge.referrals
            )
        if must.alert:
            yield from subject.unknown(
                (*at, "alert"), "alerts", "alert", must.alert, knowledge.alerts
            )
        for word in must.cautions:
            yield from subject.unknown(
                (*at, "cautions"), "cautions", "caution", word, knowledge.cautions
            )
        for word in (*([must.first] if must.first else []), *must.without):
            yield from subject.unknown(at, "remedies", "remedy", word, knowledge.remedies)
    for kind, said in knowledge.safety.says.items():
        for entry_id in said:
            yield from subject.unknown(
                ("safety", "safety", "says", kind, entry_id), kind, kind.removesuffix("s"),
                entry_id, getattr(knowledge, kind),
            )  # fmt: skip
    for crop_id in knowledge.safety.inedible:
        yield from subject.unknown(
            ("safety", "safety", "inedible", crop_id), "crops", "crop", crop_id, knowledge.crops
        )
    for name, never in knowledge.safety.never.items():
        for word in never.causes:
            yield from subject.unknown(
                ("safety", "safety", "never", name, "causes"), "causes", "cause", word,
                knowledge.causes,
            )  # fmt: skip


def first(subject: Subject) -> Iterator[Finding]:
    """safety-broken: a measure that must stand first, but is not for today."""
    remedies = subject.knowledge.remedies
    for must in subject.knowledge.safety.must.values():
        if must.first in remedies and remedies[must.first].season != "today":
            yield subject.finding(
                ("remedies", must.first), "safety-broken",
                "safety.yaml has it stand first, so it must be for today (season: today)",
            )  # fmt: skip


def alerts(subject: Subject) -> Iterator[Finding]:
    """safety-broken: an alert that must rise, but that no rule raises from what is seen."""
    knowledge = subject.knowledge
    raised = {
        value
        for rule in knowledge.rules.values()
        for name, value in pairs(rule.then)
        if name == facts.ALERT
    }
    for cause_id, must in knowledge.safety.must.items():
        if must.alert in knowledge.alerts and must.alert not in raised and not subject.broken:
            yield subject.finding(
                ("safety", "safety", "must", cause_id, "alert"), "safety-broken",
                f"no rule raises the alert {must.alert}, which this cause calls for",
            )  # fmt: skip


def kept(subject: Subject) -> Iterator[Finding]:
    """safety-broken: a cause without what safety.yaml says that it must carry."""
    for cause_id, must in subject.knowledge.safety.must.items():
        cause = subject.knowledge.causes.get(cause_id)
        if cause is None:
            continue
        for key, problem in _broken(must, cause):
            yield subject.finding(
                ("causes", cause_id, key), "safety-broken",
                f"{problem}; safety.yaml says why it may not be changed unseen",
            )  # fmt: skip


def said(subject: Subject) -> Iterator[Finding]:
    """safety-broken: a text without the words that safety.yaml says it must have."""
    words = {str(kind): said for kind, said in subject.knowledge.safety.says.items()}
    texts: dict[tuple[str, str], str] = {}
    for (kind, entry_id, *_), text in subject.prose():
        if entry_id in words.get(kind, {}):
            texts[kind, entry_id] = f"{texts.get((kind, entry_id), '')} {text}"
    for (kind, entry_id), text in texts.items():
        for wanted in words[kind][entry_id]:
            if _readable(wanted) and not re.search(wanted, text):
                yield subject.finding(
                    (kind, entry_id), "safety-broken",
                    f"{entry_id} must say {wanted!r}; safety.yaml has it so that it is not changed "
                    "unseen",
                )  # fmt: skip


def inedible(subject: Subject) -> Iterator[Finding]:
    """safety-broken: a part of a crop among what is eaten that safety.yaml says never is."""
    crops = subject.knowledge.crops
    for crop_id, parts in subject.knowledge.safety.inedible.items():
        for part in crops[crop_id].eaten if crop_id in crops else ():
            if part in parts:
                yield subject.finding(
                    ("crops", crop_id, "eaten"), "safety-broken",
                    f"the {part} of {crop_id} is never eaten (inedible in safety.yaml)",
                )  # fmt: skip


def phones(subject: Subject) -> Iterator[Finding]:
    """phone-astray: a telephone number that safety.yaml does not have."""
    known = subject.knowledge.safety.phones
    for path, text in subject.prose():
        for found in PHONE.findall(text):
            if found not in known:
                yield subject.finding(
                    path, "phone-astray",
                    f"it gives {found}, which is not among the phones of safety.yaml "
                    f"({', '.join(known) or 'none'})",
                )  # fmt: skip


def helpers(subject: Subject) -> Iterator[Finding]:
    """helper-missing: first aid that sends to someone whom `ask` does not name."""
    for danger_id, danger in subject.knowledge.dangers.items():
        for helper, words in CALLED.items():
            if words in danger.first_aid.lower() and helper not in danger.ask:
                yield subject.finding(
                    ("dangers", danger_id, "ask"), "helper-missing",
                    f"its first aid sends to the {words}; let ask name {helper}",
                )  # fmt: skip


def _broken(must: Must, cause: Cause) -> Iterator[tuple[str, str]]:
    """What a cause lacks of what it must carry: the key and the problem."""
    if must.decision and cause.matters.decision != must.decision:
        yield "matters", f"it must say {must.decision!r}, not {cause.matters.decision!r}"
    if must.eat and cause.eat != must.eat:
        yield "eat", f"it must say eat: {must.eat}, not {cause.eat}"
    if must.referral and cause.referral != must.referral:
        yield "referral", f"it must refer to {must.referral}, not {cause.referral or 'nobody'}"
    for caution in must.cautions:
        if caution not in cause.cautions:
            yield "cautions", f"the caution {caution} is missing"
    if must.harvest and _readable(must.harvest) and not re.search(must.harvest, cause.harvest):
        yield "harvest", f"it must say {must.harvest!r}"
    if must.first and cause.remedies[:1] != [must.first]:
        yield "remedies", f"the measure {must.first} must stand first"
    for remedy in must.without:
        if remedy in cause.remedies:
            yield "remedies", f"the measure {remedy} may not stand here"


def food(subject: Subject) -> Iterator[Finding]:
    """called-food: texts that call food, or safe, what may never be."""
    knowledge = subject.knowledge
    said = [
        (name, never, re.compile(never.says))
        for name, never in knowledge.safety.never.items()
        if _readable(never.says)
    ]
    for path, text in subject.prose():
        cause = knowledge.causes.get(path[1]) if path[0] == "causes" else None
        for name, never, says in said:
            about = cause is not None and (path[1] in never.causes or cause.kind in never.kinds)
            found = says.search(text) if about or not (never.causes or never.kinds) else None
            if found:
                yield subject.finding(
                    path, "called-food",
                    f"it says {found.group()!r}, but {never.because} ({name} in safety.yaml)",
                )  # fmt: skip


def cautions(subject: Subject) -> Iterator[Finding]:
    """caution-missing, caution-astray: cautions of measures, both ways."""
    knowledge = subject.knowledge
    bound = {
        caution_id: re.compile(caution.measure)
        for caution_id, caution in knowledge.cautions.items()
        if caution.measure and _readable(caution.measure)
    }
    for remedy_id, remedy in knowledge.remedies.items():
        for caution_id, words in bound.items():
            found = words.search(remedy.text)
            if found and caution_id not in remedy.cautions:
                yield subject.finding(
                    ("remedies", remedy_id), "caution-missing",
                    f"it speaks of {found.group()!r}, so it needs the caution {caution_id}",
                )  # fmt: skip
            if not found and caution_id in remedy.cautions:
                yield subject.finding(
                    ("remedies", remedy_id, "cautions"), "caution-astray",
                    f"nothing in this measure calls for {caution_id}; take the caution out",
                )  # fmt: skip
    for cause_id, cause in knowledge.causes.items():
        for caution_id in cause.cautions:
            if caution_id in bound:
                yield subject.finding(
                    ("causes", cause_id, "cautions"), "caution-astray",
                    f"{caution_id} hangs on the measures that call for it; take it out here",
                )  # fmt: skip


class _Words:
    """The words of products and recipes, ready to search a sentence."""

    def __init__(self, products: Products) -> None:
        def any_of(words: list[str]) -> str:
            return "|".join(f"(?:{word})" for word in words if _readable(word)) or "(?!)"

        names, stuffs = any_of(products.names), any_of(products.stuffs)
        doings, praises = any_of(products.doings), any_of(products.praises)
        self.found = re.compile(
            rf"\b(?:{names})\b"
            rf"|\b(?:{doings})\b(?!,).*\b(?:{stuffs})\b"
            rf"|\b(?:{stuffs})\b.*\b(?:{praises})\b",
            re.IGNORECASE,
        )
        self.forbids = re.compile(rf"\b(?:{any_of(products.forbids)})\b")
        self.spared = re.compile(any_of(products.spared))
        self.search = cache(self._search)  # most texts are the same at the next save

    def _search(self, text: str) -> str | None:
        """The first product, recipe or dose of a text that no sentence forbids, or None."""
        for sentence in SENTENCE.split(self.spared.sub("", text)):
            found = self.found.search(sentence) or DOSE.search(sentence)
            if found and not self.forbids.search(sentence[: found.start()]):
                return found.group()
        return None


@lru_cache(maxsize=2)
def _words(products: bytes) -> _Words:
    """The words of products as the model has them, in msgpack."""
    return _Words(msgspec.msgpack.decode(products, type=Products))


def products(subject: Subject) -> Iterator[Finding]:
    """product-or-dose: a text names what is a pesticide in law, a home brew, or doses something."""
    if "safety" in subject.broken:
        return
    words = _words(msgspec.msgpack.encode(subject.knowledge.safety.products))
    for path, text in subject.prose():
        found = words.search(text)
        if found:
            yield subject.finding(
                path, "product-or-dose",
                f"it says {found!r}; refer to the extension service instead",
            )  # fmt: skip
