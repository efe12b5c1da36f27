"""The guided consultation: one conversation, the same at the prompt and line by line."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from threading import Thread

from diagnose.consultation import UNSURE, Consultation
from diagnose.errors import UsageError
from diagnose.inputs import clean
from diagnose.kb.model import ABSENT, PRESENT, Knowledge
from diagnose.kb.names import shortened, unknown_crop
from diagnose.reasoning.facts import Observation
from diagnose.reasoning.ranking import ANSWER
from diagnose.terminal import saved, views
from diagnose.terminal.askers import Asker
from diagnose.terminal.page import Page, heading, item, note, text
from diagnose.terminal.screen import Screen

YES = ("y", "yes", "right", "ok", "correct")
NO = ("n", "no")
COMMANDS = ("unsure", "why", "back", "so far", "stop", "help")
HINT = "a number or a word; unsure, why, back, so far, stop, help"
LIST_HINT = "numbers, as in 1 3, or none; why, back, so far, stop, help"
LIST_HELP = ("the numbers of those that are so, as in 1 3", "none: none of these")
WHY_LISTED = (
    "You could not answer the last questions. These are the signs by which what it may still be "
    "shows best; one that is so tells me more than another guess."
)
COMMON_HELP: Page = [
    item("why: why I ask this"),
    item("back: take the last answer back"),
    item("so far: what I know, and where it points"),
    item("stop: end here and see the plan"),
    item("Ctrl-D keeps everything and leaves"),
]
ENDINGS = {
    "clear": "One cause is clear, so I stop asking.",
    "same plan": "All that it may still be calls for the same plan, so I stop asking.",
    "nothing left": "No further question would tell me enough to be worth your while.",
    "cannot tell": "You could not tell several times in a row, so here is what I have so far.",
    "enough asked": "That is as much as I want to ask in one go.",
}


class Leave(Exception):
    """The gardener leaves: what was answered has been kept."""


@dataclass(frozen=True)
class Asked:
    """What was put to the gardener: how an answer is taken (None: not understood), and the help."""

    choices: Sequence[str]
    hint: str
    take: Callable[[str], Consultation | None]
    why: Callable[[], Page]
    help: Callable[[], Page]
    refuse: Callable[[str], Page]


@dataclass
class Dialogue:
    """One conversation. `history` holds the consultation before each answer, for `back`."""

    screen: Screen
    asker: Asker
    consultation: Consultation
    history: list[Consultation] = field(default_factory=list)
    queue: list[str] = field(default_factory=list)
    words: str = ""  # typed, but not confirmed yet

    @property
    def knowledge(self) -> Knowledge:
        """The knowledge at work."""
        return self.consultation.reasoner.knowledge

    def run(self, kept: saved.Kept | None = None) -> None:
        """From first words to plan. Raises Leave where the gardener leaves early."""
        if kept and self._go_on(kept.consultation):
            self.consultation = kept.consultation
            if kept.words:
                self._understand(kept.words)
        else:
            self._describe()
        self._questions()

    # asking

    def _line(self, prompt: str, choices: Sequence[str], hint: str) -> str:
        """One line typed, or waiting from a paste. Ctrl-C asks; end of input saves and leaves."""
        if self.queue:
            line = self.queue.pop(0)
            self.screen.show([text(f"{prompt}{line}")])
            return line
        while True:
            try:
                line = self.asker.ask(prompt, choices, hint)
                self.queue += self.asker.waiting()
                return line
            except EOFError:
                self._leave()
            except KeyboardInterrupt:
                self._interrupted()

    def _interrupted(self) -> None:
        """Ctrl-C: ask whether to stop; a second Ctrl-C stops."""
        self.screen.show([text("Stop here? Everything answered is kept.")])
        try:
            answer = self.asker.ask("yes or no: ", ("yes", "no"), "yes or no").lower()
        except EOFError:
            answer = "yes"
        if answer in YES:
            self._leave()

    def _leave(self) -> None:
        if not (self.consultation.observations or self.consultation.crop or self.words):
            raise Leave
        if saved.save(self.consultation, self.words):
            self.screen.show([text("Kept. Start again and I will offer to go on from here.")])
        else:
            self.screen.show([text("I could not write to your state folder, so this is not kept.")])
        raise Leave

    def _yes(self, prompt: str) -> bool:
        while True:
            answer = self._line(prompt, ("yes", "no"), "yes or no").lower()
            if answer in (*YES, *NO):
                return answer in YES
            self.screen.show([text(f"I did not understand {answer!r}. Please say yes or no.")])

    def _go_on(self, kept: Consultation) -> bool:
        crop = self.knowledge.crops[kept.crop].name.lower() if kept.crop else "a plant"
        count = len(kept.observations)
        self.screen.show(
            [text(f"You left a consultation about {crop} of {views.day(kept.day)}, "
                  f"with {count} {'observation' if count == 1 else 'observations'}.")]
        )  # fmt: skip
        return self._yes("Go on with it? yes or no: ")

    # first words

    def _describe(self) -> None:
        self.screen.show(
            [text("What is wrong? Say it in your own words: which plant, what you see, where on "
                  "it, and since when. Or press Enter, and I will ask.")]
        )  # fmt: skip
        reasoner = self.consultation.reasoner
        Thread(target=lambda: reasoner.wording, daemon=True).start()  # while the gardener types
        while True:
            line = self._line("In your words: ", (), "a sentence or two, or Enter")
            if self.queue:  # a pasted description of several lines is one description
                line = " \n".join([line, *self.queue])
                self.queue.clear()
            try:
                return self._understand(line)
            except UsageError as error:
                self.screen.show([text(f"{error}.")])

    def _understand(self, words: str) -> None:
        """Read the first words, ask for the crop where they name none, and have them confirmed."""
        told = self.consultation.told(clean(words)) if words else self.consultation
        self.words = words
        saved.save(self.consultation, self.words)
        if told.crop is None:
            told = told.about(self._ask_crop())
        self.consultation = self._confirm(told) if words else told
        self.words = ""

    def _ask_crop(self) -> str | None:
        names = [crop.name.lower() for crop in self.knowledge.crops.values()]
        while True:
            line = self._line("Which crop is it? ", names, "a crop, or unsure")
            if line.lower() in ("unsure", "back"):
                return None
            found = self.knowledge.crop_named(line)
            if found:
                return found
            self.screen.show([text(unknown_crop(self.knowledge, line))])

    def _confirm(self, told: Consultation) -> Consultation:
        """Show what was read; the gardener says yes, strikes a line, or adds words."""
        while True:
            seen = told.observations
            if told.reading:
                shown = replace(told.reading, observations=list(seen))
                self.screen.show(views.what_was_read(self.knowledge, shown))
            if not seen:
                return told
            self.screen.show(
                [text("Is that right? Say yes, or the number of a wrong line, or add words.")]
            )
            line = self._line("> ", ("yes",), "yes; a number to strike that line; or more words")
            if line.lower() in YES or not line:
                return told.confirmed()
            if line.lower() in NO:
                self.screen.show([text("Which line is wrong? Type its number.")])
            elif line.isdecimal() and 1 <= int(line) <= len(seen):
                told = self._correct(told, seen[int(line) - 1])
            elif line.isdecimal():
                self.screen.show([text(f"There is no line {line}; there are 1 to {len(seen)}.")])
            else:
                try:
                    told = told.told(clean(line))
                    self.words = f"{self.words}. {line}"
                except UsageError as error:
                    self.screen.show([text(f"{error}.")])

    def _correct(self, told: Consultation, wrong: Observation) -> Consultation:
        """Offer the other answers for a line that was read wrongly; Enter strikes it."""
        self._show_question(wrong.symptom, None)
        self.screen.show([text("Or press Enter to strike the line.")])
        line = self._line("> ", self._choices(wrong.symptom), "a number, a word, or Enter")
        value = self._value(wrong.symptom, line)
        if value in (None, UNSURE):
            return told.strike(wrong.symptom)
        return told.observe([Observation(wrong.symptom, str(value), ANSWER, wrong.words)])

    # guided questions

    def _questions(self) -> None:
        while True:
            saved.save(self.consultation)
            reason = self.consultation.stop
            if reason and self.consultation.asked + len(self.consultation.observations) > 0:
                self._finish(ENDINGS[reason])
                return
            if self.consultation.signs:
                going = self._one_list(self.consultation.signs)
            elif self.consultation.next_symptom:
                going = self._one_question(self.consultation.next_symptom)
            else:
                self._finish(ENDINGS["nothing left"])
                return
            if not going:
                self._finish("You stopped here.")
                return

    def _one_question(self, symptom: str) -> bool:
        """Ask one question until it is answered or left; False on `stop`."""

        def take(line: str) -> Consultation | None:
            value = self._value(symptom, line)
            return None if value is None else self.consultation.answer(symptom, value)

        self._show_question(symptom, self.consultation.asked + 1)
        return self._wait_for(
            Asked(
                self._choices(symptom),
                HINT,
                take,
                why=lambda: views.why_asked(self.consultation, symptom),
                help=lambda: self._help(symptom),
                refuse=lambda line: self._not_understood(symptom, line),
            )
        )

    def _one_list(self, signs: Sequence[str]) -> bool:
        """Show a list of signs until those that are there are ticked; False on `stop`."""
        names = [self.knowledge.symptoms[sign].name for sign in signs]

        def take(line: str) -> Consultation | None:
            ticked = chosen(line, names)
            return None if ticked is None else self.consultation.tick(signs[i] for i in ticked)

        page: Page = [heading(f"Question {self.consultation.asked + 1}")]
        page.append(text("Let me ask the other way round. Which of these do you see, or know to "
                         "be so? Type their numbers, or none."))  # fmt: skip
        self.screen.show([*page, *(item(name, f"{n}.") for n, name in enumerate(names, 1))])
        return self._wait_for(
            Asked(
                [*names, "none"],
                LIST_HINT,
                take,
                why=lambda: [text(WHY_LISTED)],
                help=lambda: [heading("What you can type"), *map(item, LIST_HELP), *COMMON_HELP],
                refuse=lambda line: [text(f"I did not understand {shortened(line)}. Type numbers "
                                          f"from 1 to {len(names)}, as in 1 3, or none.")],
            )
        )  # fmt: skip

    def _wait_for(self, asked: Asked) -> bool:
        """Wait until what was asked is answered or left; False on `stop`."""
        while True:
            line = self._line("> ", (*asked.choices, *COMMANDS), asked.hint)
            match line.lower():
                case "stop":
                    return False
                case "why":
                    self.screen.show(asked.why())
                case "so far":
                    self.screen.show(views.so_far(self.consultation))
                case "help" | "?" | "":
                    self.screen.show(asked.help())
                case "back":
                    if self.history:
                        self.consultation = self.history.pop()
                        return True
                    self.screen.show([text("This is the first question; nothing to go back to.")])
                case _:
                    after = asked.take(line)
                    if after is None:
                        self.screen.show(asked.refuse(line))
                        continue
                    self.history.append(self.consultation)
                    self.consultation = after
                    return True

    def _show_question(self, symptom: str, number: int | None) -> None:
        found = self.knowledge.symptoms[symptom]
        page: Page = [heading(f"Question {number}" if number else "Then tell me")]
        page.append(text(found.ask))
        page += [
            item(found.value_name(state), f"{n}.")
            for n, state in enumerate(self.consultation.offered(symptom), 1)
        ]
        self.screen.show(page)

    def _help(self, symptom: str) -> Page:
        page: Page = [heading("What you can type")]
        found = self.knowledge.symptoms[symptom]
        if found.look:
            page.append(text(f"How to look: {found.look}"))
        page += [
            item("a number, or the words of an answer"),
            item("unsure: you cannot tell; that is a good answer too"),
        ]
        return [*page, *COMMON_HELP]

    def _not_understood(self, symptom: str, line: str) -> Page:
        count = len(self.consultation.offered(symptom))
        return [text(f"I did not understand {shortened(line)}. Type a number from 1 to {count}, "
                     "one of the answers, or unsure.")]  # fmt: skip

    def _choices(self, symptom: str) -> list[str]:
        found = self.knowledge.symptoms[symptom]
        return [found.value_name(state) for state in self.consultation.offered(symptom)]

    def _value(self, symptom: str, line: str) -> str | None:
        """The state that an answer means, 'unsure', or None where it means none."""
        options = self.consultation.offered(symptom)
        word = line.strip().lower()
        if word in ("unsure", "not sure", "dont know", "don't know", "?"):
            return UNSURE
        if word.isdecimal():
            return options[int(word) - 1] if 1 <= int(word) <= len(options) else None
        names = [name.lower() for name in self._choices(symptom)]
        if word in NO or word == "none":
            return ABSENT
        if word in YES:
            return PRESENT
        starts = [i for i, name in enumerate(names) if word and name.startswith(word)]
        inside = [i for i, name in enumerate(names) if word and word in name]
        for found in (starts, inside):
            if len(found) == 1:
                return options[found[0]]
        close = difflib.get_close_matches(word, names, n=1, cutoff=0.75)
        return options[names.index(close[0])] if close else None

    def _finish(self, why: str) -> None:
        saved.forget()
        self.screen.show([note(why), *views.outcome(self.consultation)])


def chosen(line: str, names: Sequence[str]) -> list[int] | None:
    """Which of the names a line ticks, by their numbers or one by name; None if it makes no sense.

    "none", "no" and "unsure" tick nothing.
    """
    word = line.strip().lower()
    if word in (*NO, "none", UNSURE, "not sure"):
        return []
    parts = [part for part in re.split(r"[\s,;&+]+|\band\b", word) if part]
    if all(part.isdecimal() for part in parts):
        numbers = sorted({int(part) - 1 for part in parts})
        return numbers if numbers[0] >= 0 and numbers[-1] < len(names) else None
    named = [i for i, name in enumerate(names) if word in name.lower()]
    return named if len(named) == 1 else None
