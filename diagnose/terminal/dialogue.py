"""The guided consultation: one conversation, the same at the prompt and line by line.

It goes through stages: the description, its confirmation, the questions, the answer; from the
answer on to the next plant. Each stage asks, and says which stage is next.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field
from threading import Thread
from typing import Literal

from diagnose.consultation import Consultation
from diagnose.errors import UsageError
from diagnose.inputs import Said, clean, whole
from diagnose.journal import (
    Answered,
    Granted,
    Journal,
    Meant,
    Plant,
    Step,
    Struck,
    Ticked,
    Told,
    Where,
    line_name,
)
from diagnose.kb import names
from diagnose.kb.model import ABSENT, PRESENT, UNSURE, Knowledge
from diagnose.kept import Keeper, Opened
from diagnose.pages import answer, entries, first, pictures, reasons
from diagnose.pages.blocks import Figure, Page, figures, heading, item, note, text
from diagnose.pages.sayings import PARTS, cause_name, listed, said, small, tick_line
from diagnose.reasoning.alerts import EMERGENCY
from diagnose.reasoning.screens import Tick, TickScreen
from diagnose.terminal import typed
from diagnose.terminal.askers import Asker
from diagnose.terminal.screen import Screen

Stage = Literal["describe", "confirm", "ask", "answer", "end"]

WHAT_IS_WRONG = (
    "What is wrong? Say it in your own words: which plant, what you see, where on it, and since "
    "when. Or press Enter, and I will ask."
)
IS_THAT_RIGHT = (
    "Is that right? Say yes; or the numbers of wrong lines, as in 1 3; or another plant; or more "
    "words."
)
SHALL_I_GO_ON = "Shall I go on about the plants? yes or no: "
WHICH_OF_THESE = "Which of these do you see, or know to be so?"
NUMBERS = "Type the numbers of all that fit, as in 1 3; or none; or unsure."
ENDINGS = {
    "clear": "I have asked enough.",
    "same plan": "All that it may still be calls for the same plan, so I stop asking.",
    "nothing left": "No further question would tell me enough to be worth your while.",
    "cannot tell": "You could not tell several times in a row, so here is what I have so far.",
    "enough asked": "That is as much as I want to ask in one go.",
}
ONE_TROUBLE = frozenset({"both", "all", "all of them", "together", "one trouble"})
BEYOND = (
    "That I cannot answer. I find out what troubles a plant, what to do about it, what may be "
    "eaten, and what a word of the trade means (as in: what is frass?). For the rest ask your "
    "local extension service."
)
EVERYWHERE: Page = [
    item("so far: what I know, and where it points"),
    item("reasons, others, change, more: why, what else, what would change it, the plan"),
    item('not ...: why not another cause, as "not slugs"'),
    item("eat: what may be eaten, as far as I know"),
    item("a question of your own, as in: is it safe to eat? or: what is frass?"),
    item("back: take the last step back"),
    item("stop: end here and see what I have"),
    item("leave: keep everything and go"),
]
WHY = ("reasons", "others", "change", "rules", "more", "plan")
LATER = (
    ("more", "the whole plan"),
    ("reasons", "what speaks for it, and against"),
    ("others", "what else it may be"),
    ("eat", "what may be eaten"),
    ("not ...", 'why not another cause, as "not slugs"'),
    ("change", "what would change it"),
    ("ask", "go on asking"),
    ("next", "the next plant; one that you told of comes first"),
    ("keep FILE", "write it down, as .md, .html or .json"),
    ("leave", "go; it is kept"),
)


class Leave(Exception):
    """The gardener leaves: what was answered has been kept."""


@dataclass(frozen=True)
class Later:
    """Another plant that was told of, and is to be gone on to."""

    crop: str
    words: str
    keeper: Keeper | None


@dataclass
class Dialogue:
    """One conversation. `keeper` keeps it; None where nothing is to be kept, as in a pipe."""

    screen: Screen
    asker: Asker
    journal: Journal
    keeper: Keeper | None = None
    queue: list[str] = field(default_factory=list)
    pending: str = ""  # typed, but not taken yet
    answered: bool = False  # the answer has been given
    warned: set[str] = field(default_factory=set)  # alerts that were told
    told_not_kept: bool = False
    later: list[Later] = field(default_factory=list)

    @property
    def now(self) -> Consultation:
        """The consultation as it stands."""
        return self.journal.now

    @property
    def knowledge(self) -> Knowledge:
        """The knowledge at work."""
        return self.now.reasoner.knowledge

    def run(self, kept: Opened | None = None) -> None:
        """From first words to the last answer. Raises Leave where the gardener leaves."""
        stage: Stage = self._go_on(kept) if kept else "describe"
        stages: dict[str, Callable[[], Stage]] = {
            "describe": self._describe,
            "confirm": self._confirm,
            "ask": self._ask,
            "answer": self._answer,
        }
        while stage != "end":
            stage = stages[stage]()

    def _go_on(self, kept: Opened) -> Stage:
        self.journal = kept.journal
        for line in kept.lost:
            self.screen.show([note(f"Left out: {line}.")])
        self._warn()
        if kept.typed:
            return self._take(kept.typed)
        return "ask" if any(not isinstance(s, Told) for s in kept.journal.steps) else "confirm"

    # asking for a line

    def _line(self, prompt: str, choices: Sequence[str], hint: str) -> str:
        """One line typed, or waiting from a paste. Ctrl-C asks; end of input keeps and leaves."""
        self.queue += map(whole, self.screen.ahead())
        if self.queue:
            line = self.queue.pop(0)
            self.screen.show([text(f"{prompt}{line}")])
            return line
        while True:
            try:
                line = self.asker.ask(prompt, choices, hint)
                self.queue += map(whole, self.asker.waiting())
                return whole(line)
            except EOFError:
                self._leave()
            except KeyboardInterrupt:
                self._interrupted()

    def _interrupted(self) -> None:
        """Ctrl-C: ask whether to stop; a second Ctrl-C stops."""
        self.screen.show([text("Leave here? Everything answered is kept.")])
        try:
            said = self.asker.ask("yes or no: ", ("yes", "no"), "yes or no")
        except EOFError:
            said = "yes"
        if typed.plainly(said) in typed.YES:
            self._leave()

    def _leave(self) -> None:
        if (self.journal.steps or self.pending) and self._keep():
            shown_by = self.keeper.shown_by if self.keeper else ""
            self.screen.show([text(
                f"Kept. Type {shown_by} to see it again." if self.answered else
                "Kept. Start again and I will offer to go on from here."
            )])  # fmt: skip
        raise Leave

    def _keep(self) -> bool:
        """Keep what there is; what cannot be kept is said once."""
        if self.keeper is None:
            return False
        done = self.keeper.save(
            self.journal, typed=self.pending, finished=self.answered, answer=self._in_short()
        )
        if not done and not self.told_not_kept:
            self.told_not_kept = True
            self.screen.show(
                [note("I cannot write to your state folder, so this consultation is not kept.")]
            )
        return done

    def _in_short(self) -> str:
        first = self.now.leading if self.now.verdict in ("clear", "likely") else None
        return cause_name(self.knowledge, first.cause) if first else ""

    def _then(self, *steps: Step, again: Collection[str] = ()) -> None:
        """Take steps, and tell the alerts that rise with them, or are asked for `again`."""
        with self.screen.waiting("Reading ..."):
            self.journal = self.journal.then(*steps)
            _ = self.now.chances
        self.pending = ""
        self._keep()
        self._warn(again)

    def _warn(self, again: Collection[str] = ()) -> None:
        """Tell the alerts that are new; an emergency alone, and then whether to go on.

        Raises Leave where the gardener does not go on.
        """
        new = [a for a in self.now.alerts if a.id not in self.warned or a.id in again]
        self.warned |= {alert.id for alert in new}
        grave = [alert for alert in new if alert.kind == EMERGENCY]
        if grave:
            self.screen.show(first.alerts(grave))
            self._go_on_or_leave()
        self.screen.show(first.alerts([alert for alert in new if alert.kind != EMERGENCY]))

    def _go_on_or_leave(self) -> None:
        while True:
            line = typed.plainly(self._line(SHALL_I_GO_ON, ("yes", "no"), "yes or no"))
            if line in typed.YES:
                return
            if line in typed.NO or typed.command(line) in ("stop", "leave"):
                self._leave()
            self.screen.show([text(f"I did not understand {names.shortened(line)}. Please say yes "
                                   "or no.")])  # fmt: skip

    def _common(self, line: str, helps: Page) -> Stage | None:
        """What a command that works at every prompt leads to; None where the line is none.

        Raises Again where it was dealt with here.
        """
        if (word := typed.asked_about(line)) and (page := entries.what_is(self.knowledge, word)):
            self.screen.show(page)
            raise Again
        if self._reasoned(line):
            raise Again
        match typed.command(line):
            case "help":
                self.screen.show([heading("What you can type"), *helps, *EVERYWHERE])
                raise Again
            case "so far":
                told = self.now.alerts
                grave = first.alerts([a for a in told if a.kind == EMERGENCY])
                rest = first.reminder([a for a in told if a.kind != EMERGENCY])
                self.screen.show([*grave, *answer.so_far(self.now), *rest])
                raise Again
            case "eat":
                self.screen.show(first.eating(self.now))
                raise Again
            case "back":
                return self._back()
            case "stop":
                return "answer" if self.journal.steps else "end"
            case "leave":
                self._leave()
        return None

    def _reasoned(self, line: str) -> bool:
        """Show the reasons that a line asks for, as far as there are any; whether it asked."""
        now = self.now
        word, _, rest = typed.plainly(line).partition(" ")
        if word in ("not", "why") and rest:
            rest = rest.removeprefix("not ")
            if any(named.kind == "causes" for named in names.find(self.knowledge, rest)):
                self._why_not(rest)
                return True
        if word not in WHY or rest:
            return False
        if now.verdict == "nothing understood":
            self.screen.show([text("There is nothing to give reasons for yet.")])
        elif word == "reasons":
            self.screen.show([*reasons.why_first(now), *answer.loose_ends(now)])
        elif word == "rules":
            self.screen.show(reasons.rules(now.trace))
        elif word == "others":
            self.screen.show(answer.possible(now))
        elif word in ("more", "plan"):
            self.screen.show(self._more())
        else:
            self.screen.show(reasons.what_would_change(now))
        return True

    def _back(self) -> Stage:
        """One step back, up to the description."""
        if not self.journal.steps:
            self.screen.show([text("This is the beginning; there is nothing to take back.")])
            return "describe"
        self.answered = False
        last = self.journal.steps[-1]
        self.journal = self.journal.back()
        self._keep()
        if isinstance(last, Told) and not self.journal.steps:
            return "describe"
        return "confirm" if isinstance(last, Meant | Struck | Granted | Plant | Told) else "ask"

    # the description

    def _describe(self) -> Stage:
        self.screen.show([text(WHAT_IS_WRONG)])
        reasoner = self.now.reasoner
        Thread(target=lambda: reasoner.wording, daemon=True).start()  # while the gardener types
        while True:
            line = self._line("In your words: ", (), "a sentence or two, or Enter")
            if self.queue:  # a pasted description of several lines is one description
                line = " \n".join([line, *self.queue])
                self.queue.clear()
            try:
                stage = self._common(line, [item("what you see, in a sentence or two")])
            except Again:
                continue
            if stage is not None:
                return stage
            if not line.strip():
                return self._plant("ask")
            return self._take(line)

    def _take(self, line: str) -> Stage:
        """Take the words of the description; of two plants with a trouble each, those of one."""
        self.pending = line
        self._keep()
        told = self._told_of(line)
        if len(told) > 1:
            first, stage = self._which_first(tuple(told))
            if stage is not None:
                return stage
            if first is not None:
                line = told.pop(first)
                self._put_by(told)
        try:
            self._then(Told(line))
        except UsageError as error:
            self.pending = ""
            self._keep()
            self.screen.show([text(f"{error}.")])
            return "describe"
        return self._plant("confirm")

    def _told_of(self, line: str) -> dict[str, Said]:
        """The plants of which words tell a trouble of its own, each with its words."""
        from diagnose.reading.plants import troubled

        try:
            return dict(troubled(self.now.reasoner.lexicon, clean(line)))
        except UsageError:
            return {}

    def _which_first(self, crops: Sequence[str]) -> tuple[str | None, Stage | None]:
        """Ask which plant comes first: that one, or none where it is one trouble of both.

        Or what a command leads to instead.
        """
        named = [small(self.knowledge.crops[crop].name) for crop in crops]
        self.screen.show([
            text(f"You tell of {listed(named, 'and')}, each with a trouble of its own. Which "
                 "first? I keep the rest for afterwards. If it is one trouble, say both."),
            *(item(name, f"{n}.") for n, name in enumerate(named, 1)),
        ])  # fmt: skip
        while True:
            line = self._line("> ", (*named, "both"), "a number or a plant; or both")
            try:
                stage = self._common(line, [item("a number, or a plant"), item("both")])
            except Again:
                continue
            word = typed.plainly(line)
            if stage is not None or word in ONE_TROUBLE:
                return None, stage
            chosen = typed.ticked(line, named) if word else [0]
            if chosen is not None and len(chosen) == 1:
                return crops[chosen[0]], None
            self.screen.show([text(f"Type a number from 1 to {len(named)}, or both.")])

    def _put_by(self, told: Mapping[str, Said]) -> None:
        """Keep what was told of other plants, to go on with afterwards or another day."""
        for crop, words in told.items():
            keeper = self.keeper.another() if self.keeper else None
            if keeper:
                keeper.save(Journal.begin(self.journal.states[0]), typed=words)
            self.later.append(Later(crop, words, keeper))

    def _plant(self, then: Stage) -> Stage:
        """Ask for the plant where none is known."""
        known = [crop.name.lower() for crop in self.knowledge.crops.values()]
        while self.now.crop is None:
            line = self._line("Which plant is it? ", known, "a plant, or unsure")
            try:
                stage = self._common(line, [item("the name of the plant"), item("unsure")])
            except Again:
                continue
            if stage is not None:
                return stage
            if typed.plainly(line) in typed.CANNOT_TELL | {""}:
                return then
            crop = self._named(line)
            if crop is None:
                self.screen.show([text(names.unknown_crop(self.knowledge, line))])
            else:
                self._then(Plant(crop))
        return then

    def _named(self, line: str) -> str | None:
        """The plant of that name; where it can only be placed, that is said."""
        crop = self.knowledge.crop_named(line)
        if crop is None and (place := names.placed(self.knowledge, line)):
            self.screen.show([text(place.said)])
            return place.crop
        return crop

    def _confirm(self) -> Stage:
        """Show what was understood; the gardener says yes, strikes lines, or says more."""
        while True:
            self.screen.show(answer.understood(self.now))
            if not self.now.stated and not self.now.weak:
                if typed.is_question(self.now.said) and not self.now.alerts:
                    self.screen.show([text(BEYOND)])
                return "ask"
            self.screen.show([text(IS_THAT_RIGHT)])
            line = self._line("> ", ("yes",), "yes, or wrong lines, or words")
            try:
                stage = self._common(line, CONFIRM_HELP)
            except Again:
                continue
            if stage is not None:
                return stage
            if typed.plainly(line) in typed.YES | {""}:
                self._then(Meant())
                return "ask"
            self._correct(line)

    def _correct(self, line: str) -> None:
        """Strike the lines named, put the plant right, or take more words."""
        seen = self.now.stated
        offered = self.now.weak
        wrong = typed.numbers(line, len(seen) + len(offered))
        word = typed.plainly(line).removeprefix("plant:").removeprefix("it is a ").strip()
        if wrong is not None:
            struck = tuple(seen[n - 1].symptom for n in wrong if n <= len(seen))
            granted = tuple(offered[n - len(seen) - 1].symptom for n in wrong if n > len(seen))
            self._then(
                *([Granted(granted)] if granted else []), *([Struck(struck)] if struck else [])
            )
        elif typed.plainly(line) in typed.NO:
            self.screen.show([text("Which lines are wrong? Type their numbers, as in 1 3.")])
        elif plant := self._named(word):
            self._then(Plant(plant))
        elif word.isdecimal():
            self.screen.show([text(f"There is no line {word}; there are 1 to {len(seen)}.")])
        else:
            self._say(line)

    def _say(self, line: str) -> bool:
        """Take words of the gardener's own at any prompt; whether anything was understood."""
        before = {o.symptom: o.value for o in self.now.observations}
        try:
            after = self.journal.then(Told(line)).now
        except UsageError as error:
            self.screen.show([text(f"{error}.")])
            return False
        new = [o for o in after.observations if before.get(o.symptom) != o.value]
        asked = after.answers_to(line)
        if not (new or asked):
            return False
        self._then(Told(line), again=asked)
        if new:
            self._echo([said(self.knowledge, o.symptom, o.value) for o in new])
        return True

    def _lost(self, line: str, otherwise: str) -> None:
        """Say that a line was not understood; of a question, what this can answer."""
        if typed.is_question(line):
            self.screen.show([text(BEYOND)])
        else:
            self.screen.show([text(f"I did not understand {names.shortened(line)}. {otherwise}")])

    def _echo(self, taken: Sequence[str]) -> None:
        self.screen.show([note(f"I take: {'; '.join(taken)}.")])

    # the questions

    def _ask(self) -> Stage:
        while True:
            now = self.now
            if now.well and not now.asked:
                return "answer"
            if now.stop and (now.asked or now.observations):
                self.screen.show([note(ENDINGS[now.stop])])
                return "answer"
            if not (now.stated or now.asked):
                stage = self._which_part()
            elif now.screen:
                stage = self._one_screen(now.screen)
            elif now.next_symptom:
                stage = self._one_question(now.next_symptom)
            else:
                self.screen.show([note(ENDINGS["nothing left"])])
                return "answer"
            if stage is not None:
                return stage

    def _which_part(self) -> Stage | None:
        """Ask which part looks wrong; then tell what is natural there on this plant."""
        knowledge = self.knowledge
        crop = knowledge.crops.get(self.now.crop or "")
        parts = [p for p in PARTS if crop is None or p in crop.parts]
        shown = [PARTS[part] for part in parts]
        self._show_question("Where does it look wrong? Type the numbers that fit.", shown)
        stage = self._ticks(
            shown,
            lambda chosen: Where(tuple(parts[i] for i in chosen or ())),
            lambda: [text("Then I ask first of what shows there.")],
        )
        if stage is None and crop is not None:
            named = ("seedling" if part == "seed" else part for part in self.now.parts)
            natural = [crop.normal[name] for name in named if name in crop.normal]
            if natural:
                lead = text("Natural on this plant, and no trouble:")
                self.screen.show([lead, *(item(words) for words in natural)])
        return stage

    def _one_screen(self, screen: TickScreen) -> Stage | None:
        """Show several things at once until those that are there are ticked."""
        knowledge, lines = self.knowledge, screen.lines
        shown = [tick_line(knowledge, line) for line in lines]
        page: Page = [heading(f"Question {self.now.asked + 1}"), text(NUMBERS)]
        for number, line in enumerate(lines):
            before = lines[number - 1] if number else None
            if lead := self._lead(line, before):
                page.append(text(lead))
            page.append(item(shown[number], f"{number + 1}."))
        self.screen.show(page)

        def step(chosen: list[int] | None) -> Step:
            every = [line_name(line) for line in lines]
            if chosen is None:
                return Ticked((), (), tuple(every))
            there = [every[i] for i in chosen]
            return Ticked(tuple(there), tuple(name for name in every if name not in there))

        return self._ticks(shown, step, lambda: reasons.why_screen(self.now, screen))

    def _lead(self, line: Tick, before: Tick | None) -> str | None:
        """What is asked above a line of a screen; None where it goes on with the line before."""
        symptoms = self.knowledge.symptoms
        if line.value != PRESENT:
            alone = before is None or before.symptom != line.symptom
            return self._asked_for(line.symptom) if alone else None
        if before is None:
            return WHICH_OF_THESE
        pattern = symptoms[line.symptom].kind == symptoms[before.symptom].kind == "pattern"
        return None if pattern or before.value == PRESENT else WHICH_OF_THESE

    def _asked_for(self, symptom: str) -> str:
        """The question about a symptom; of what was ticked, what it is like."""
        found, offered = self.knowledge.symptoms[symptom], self.now.offered(symptom)
        ticked = PRESENT in offered and ABSENT not in offered
        return f"You ticked: {found.name}. What is it like?" if ticked else found.ask

    def _ticks(
        self,
        shown: Sequence[str],
        step: Callable[[list[int] | None], Step],
        why: Callable[[], Page],
    ) -> Stage | None:
        """Ask for the numbers of what fits until that makes sense; None of them where unsure."""
        while True:
            line = self._line("> ", (*shown, "none"), "numbers, as 1 3, or none; why")
            if typed.plainly(line) == "why":
                self.screen.show(why())
                continue
            try:
                stage = self._common(line or "help", LIST_HELP)
            except Again:
                continue
            if stage is not None:
                return stage
            unsure = typed.plainly(line) in typed.CANNOT_TELL
            chosen = None if unsure else typed.ticked(line, shown)
            if unsure or chosen is not None:
                self._then(step(chosen))
                taken = [shown[i] for i in chosen or ()]
                self._echo(taken or ["not sure" if unsure else "none of these"])
                return None
            if self._say(line):
                return None
            self._lost(line, f"Type numbers from 1 to {len(shown)}, as in 1 3, or none.")

    def _one_question(self, symptom: str) -> Stage | None:
        """Ask one question until it is answered or left."""
        found, offered = self.knowledge.symptoms[symptom], self.now.offered(symptom)
        choices = [found.value_name(state) for state in offered]
        ask = self._asked_for(symptom)
        drawn = pictures.of_answers(self.knowledge, symptom, offered)
        self._show_question(ask, choices, drawn)
        hint = f"number or word; {'pictures' if drawn else 'unsure'}, why, help"
        while True:
            line = self._line("> ", (*choices, *QUESTION_WORDS), hint)
            if typed.plainly(line) == "why":
                self.screen.show(reasons.why_asked(self.now, symptom))
                continue
            if typed.plainly(line) == "pictures":
                self.screen.show(pictures.of_question(self.knowledge, symptom, offered))
                continue
            try:
                stage = self._common(line or "help", self._question_help(symptom))
            except Again:
                continue
            if stage is not None:
                return stage
            meant = typed.answer(line, found, offered)
            if meant.one is not None:
                self._then(Answered(symptom, meant.one))
                self._echo([_taken(self.now, symptom, meant.one)])
                return None
            if meant.states:
                numbers = " or ".join(str(offered.index(s) + 1) for s in meant.states)
                self.screen.show([text(f"Which do you mean, {numbers}?")])
            elif self._say(line):
                return None
            else:
                otherwise = "one of the answers, unsure, or what you see in a few words."
                self._lost(line, f"Type a number from 1 to {len(offered)}, {otherwise}")

    def _show_question(
        self, ask: str, choices: Sequence[str], drawn: Sequence[Figure] = ()
    ) -> None:
        page: Page = [heading(f"Question {self.now.asked + 1}"), text(ask)]
        if drawn:
            page.append(figures(drawn, aside=True))
        self.screen.show([*page, *(item(name, f"{n}.") for n, name in enumerate(choices, 1))])

    def _question_help(self, symptom: str) -> Page:
        look = self.knowledge.symptoms[symptom].look
        page: Page = [text(f"How to look: {look}")] if look else []
        return [
            *page,
            item("a number, or the words of an answer"),
            item("unsure: you cannot tell; that is a good answer too"),
            item("why: why I ask this"),
            item("pictures: the answers as pictures, or in words where you have no pictures"),
            item("anything else that you see, in a few words"),
        ]

    # the answer

    def _answer(self) -> Stage:
        """Show the answer in short, and stay for what is asked about it."""
        self.answered = True
        self._keep()
        told = first.reminder([a for a in self.now.alerts if a.id in self.warned])
        self._warn()
        self.screen.show([heading("The answer"), *told, *answer.short(self.now)])
        if self.later:
            crop = small(self.knowledge.crops[self.later[0].crop].name)
            self.screen.show([text(f"Then there is the {crop}: type next to go on with it.")])
        self.screen.show([note("Type more, reasons, others, change, ask, next, leave; or help.")])
        while True:
            line = self._line("> ", [word for word, _ in LATER], "more, reasons, next, leave, help")
            if typed.command(line) == "stop":
                self._leave()
            try:
                stage = self._common(line or "help", [item(f"{w}: {what}") for w, what in LATER])
            except Again:
                continue
            stage = stage or self._asked_of_the_answer(line)
            if stage is not None:
                return stage

    def _asked_of_the_answer(self, line: str) -> Stage | None:
        """What is typed after the answer: its parts, another cause, the next plant, more words."""
        word, _, rest = typed.plainly(line).partition(" ")
        match word:
            case "why" if not rest:
                self._reasoned("reasons")
            case "ask":
                return self._ask_on()
            case "next":
                return self._next()
            case "keep" if rest:
                self.screen.show([text(self._write(line.strip().partition(" ")[2]))])
            case "not" | "why":
                self._why_not(rest.removeprefix("not "))
            case _:
                return self._more_words(line)
        return None

    def _more(self) -> Page:
        now = self.now
        if now.verdict in ("clear", "likely"):
            return answer.whole_plan(now, now.plan(now.answers[0].first))
        return [text("There is no plan yet: too little speaks for any one cause."),
                *answer.possible(now)]  # fmt: skip

    def _ask_on(self) -> Stage | None:
        symptom = self.now.next_symptom
        if symptom is None:
            self.screen.show([text("I have no question left that would help.")])
            return None
        stage = self._one_question(symptom)
        return stage or "answer"

    def _why_not(self, name: str) -> None:
        found = [n.id for n in names.find(self.knowledge, name) if n.kind == "causes"]
        if not found:
            near = names.nearest(self.knowledge, name)
            ending = f" Did you mean {', '.join(near)}?" if near else ""
            self.screen.show([text(f"I know no cause called {names.shortened(name)}.{ending}")])
        for cause in found[:2]:
            self.screen.show(reasons.why_not(self.now, cause))

    def _more_words(self, line: str) -> Stage | None:
        if self._say(line):
            return "answer"
        self._lost(line, "Type help to see what you can ask.")
        return None

    def _next(self) -> Stage:
        """Begin with the next plant, at the same place on the same day; with one told of first."""
        self._keep()
        self.answered = False
        self.warned = set()
        self.journal = Journal.begin(self.journal.states[0])
        if not self.later:
            self.keeper = self.keeper.another() if self.keeper else None
            return "describe"
        following = self.later.pop(0)
        self.keeper = following.keeper
        self.screen.show([text(f'Now this: "{following.words}"')])
        return self._take(following.words)

    def _write(self, file: str) -> str:
        from diagnose.documents.files import write

        try:
            return f"Wrote {write(self.now, file)}."
        except UsageError as error:
            return f"{error}."


class Again(Exception):
    """A command was dealt with; the same is asked again."""


QUESTION_WORDS = ("unsure", "why", "pictures", "so far", "eat", "back", "stop", "help", "leave")
CONFIRM_HELP: Page = [
    item("yes, or just Enter: that is what I meant"),
    item("the numbers of wrong lines, as in 1 3: they are struck"),
    item("the name of another plant: I read it again for that one"),
    item("more words: they are added"),
]
LIST_HELP: Page = [
    item("the numbers of those that are so, as in 1 3"),
    item("none: none of these"),
    item("unsure: you cannot tell"),
    item("why: why I ask of these"),
    item("anything else that you see, in a few words"),
]


def _taken(now: Consultation, symptom: str, value: str) -> str:
    if value == UNSURE:
        return "not sure"
    found = now.reasoner.knowledge.symptoms[symptom]
    if value == ABSENT and found.values and found.kind in ("pattern", "condition"):
        return "none of these"
    return said(now.reasoner.knowledge, symptom, value)
