"""A round of practice: what learners want to look at, the cause they name, the measure."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from diagnose.errors import UsageError
from diagnose.inputs import whole
from diagnose.kb import names
from diagnose.pages import first, practice
from diagnose.pages.blocks import Page, heading, item, note, text
from diagnose.pages.sayings import listed
from diagnose.teaching import asking
from diagnose.teaching.practice import Round
from diagnose.teaching.score import score
from diagnose.terminal import typed
from diagnose.terminal.askers import Asker
from diagnose.terminal.screen import Screen

NAMING = re.compile(r"(?:i |we )?(?:name|say it is|think it is|it is|it's|its)\s+(?P<cause>.+)")
LOOKING = ("list", "causes", "name ", "so far", "give up", "leave", "help")
HELP: Page = [
    heading("What you can type"),
    item("what you want to look at, as in: eggs under the leaf; or a part, as in: root"),
    item("list: some things to look at, numbered; then a number"),
    item("causes: some causes to think of"),
    item("name and a cause: that is what you take it for; three times at most"),
    item("so far: what has been seen"),
    item("give up: be told the cause"),
    item("leave: go; the round is kept"),
]


class Left(Exception):
    """They leave before the end: the round has been kept."""


@dataclass
class Practising:
    """One round at a prompt. `keep` keeps it after each turn, and says whether it could; None keeps
    nothing. `name` is that under which it is kept.
    """

    screen: Screen
    asker: Asker
    round: Round
    name: str = ""
    keep: Callable[[Round], bool] | None = None
    shown: Sequence[str] = field(default_factory=list)  # the things last listed
    warned: set[str] = field(default_factory=set)  # alerts that were told
    told_not_kept: bool = False

    def run(self) -> None:
        """From the problem to the score. Raises Left where they leave."""
        self.screen.show(practice.opening(self.round))
        if self.round.turns:
            self.screen.show(practice.so_far(self.round))
        self._warn()
        while self.round.stage != "over":
            self._look() if self.round.stage == "look" else self._choose()
        self.screen.show(practice.result(self.round, score(self.round)))

    def _line(self, ask: str, choices: Sequence[str], hint: str) -> str:
        """One line typed; at the end of input, and on Ctrl-C, the round is kept and left."""
        who = f"{self.round.whose}, " if self.round.whose else ""
        prompt = f"{who}{ask}"
        try:
            return whole(self.asker.ask(prompt[:1].upper() + prompt[1:], choices, hint))
        except (EOFError, KeyboardInterrupt):
            self._leave()
            raise AssertionError from None  # never reached

    def _leave(self) -> None:
        if self._keep():
            self.screen.show([text(f"Kept. To go on, type: diagnose practice {self.name}")])
        raise Left

    def _keep(self) -> bool:
        if self.keep is None:
            return False
        done = self.keep(self.round)
        if not done and not self.told_not_kept:
            self.told_not_kept = True
            self.screen.show(
                [note("I cannot write to your state folder, so this round is not kept.")]
            )
        return done

    def _take(self, played: Round) -> None:
        self.round, self.shown = played, []
        self._keep()

    def _warn(self) -> None:
        """Tell the alerts that are new: what could hurt someone is said in a made-up case too."""
        new = [a for a in self.round.now.alerts if a.id not in self.warned]
        self.warned |= {alert.id for alert in new}
        self.screen.show(first.alerts(new))

    # looking

    def _look(self) -> None:
        line = self._line("what do you look at? ", LOOKING, "what to look at; list, name ..., help")
        word = typed.plainly(line)
        naming = NAMING.fullmatch(word)
        if word in ("", "help", "?"):
            self.screen.show(HELP)
        elif typed.command(word) in ("leave", "stop"):
            self._leave()
        elif word == "list":
            self._list(asking.few(self.round.now, self.round.open, self.round.seed))
        elif word == "causes":
            self._causes()
        elif word == "so far":
            self.screen.show(practice.so_far(self.round))
        elif word in ("give up", "we give up", "i give up"):
            self._take(self.round.name(None))
            self.screen.show(practice.gave_up(self.round))
        elif naming:
            self._name(naming["cause"])
        elif word.isdecimal():
            self._number(word)
        else:
            self._words(line)

    def _list(self, found: Sequence[str]) -> None:
        self.shown = found
        self.screen.show(practice.things(self.round.now, found))
        self.screen.show([note("Type a number, or say what else you want to look at.")])

    def _number(self, word: str) -> None:
        number = int(word) if len(word) < 4 else 0
        if 1 <= number <= len(self.shown):
            self._see(self.shown[number - 1])
        elif self.shown:
            self.screen.show([text(f"There is no number {word}; there are 1 to "
                                   f"{len(self.shown)}.")])  # fmt: skip
        else:
            self.screen.show([text("Nothing is listed; type list, or say what to look at.")])

    def _words(self, line: str) -> None:
        try:
            found = asking.meant(self.round.now, line, self.round.askable)
        except UsageError as error:
            self.screen.show([text(f"{error}.")])
            return
        if len(found) == 1:
            self._see(found[0])
        elif found:
            self._list(found)
        elif any(n.kind == "causes" for n in names.find(self.round.now.reasoner.knowledge, line)):
            self.screen.show([text(f"To name it as the cause, type: name {line.strip()}")])
        else:
            self.screen.show([text(f"I do not know what to look at for {names.shortened(line)}, "
                                   "or it was seen already. Type list, or help.")])  # fmt: skip

    def _see(self, symptom: str) -> None:
        try:
            self._take(self.round.look(symptom))
        except UsageError as error:
            self.screen.show([text(f"{error}.")])
            return
        self.screen.show(practice.look(self.round))
        self._warn()

    def _causes(self) -> None:
        causes = self.round.now.reasoner.knowledge.causes
        found = asking.causes(self.round.now, self.round.hidden.cause, self.round.seed)
        self.screen.show([heading("Think of"), *(item(causes[c].name) for c in found)])

    def _name(self, words: str) -> None:
        knowledge = self.round.now.reasoner.knowledge
        found = [n.id for n in names.find(knowledge, words) if n.kind == "causes"]
        found = [c for c in found if c in dict(self.round.now.standing)] or found
        causes = knowledge.causes
        if not found:
            near = names.nearest(knowledge, words)
            ending = f" Did you mean {', '.join(near)}?" if near else " Type causes to see some."
            self.screen.show([text(f"I know no cause called {names.shortened(words)}.{ending}")])
        elif len(found) > 1:
            several = listed(causes[c].name for c in found)
            self.screen.show([text(f"Which do you mean: {several}?")])
        elif found[0] in (turn.cause for turn in self.round.named):
            self.screen.show([text("That was named already, and it is not it.")])
        else:
            self._named(found[0])

    def _named(self, cause: str) -> None:
        self._take(self.round.name(cause))
        if self.round.right(cause):
            self.screen.show(practice.right(self.round))
            return
        self.screen.show(practice.wrong(self.round, cause))
        if self.round.stage == "choose":
            self.screen.show(practice.gave_up(self.round))

    # choosing

    def _choose(self) -> None:
        found = self.round.measures
        self.screen.show(practice.measures(self.round))
        while True:
            line = self._line("your measure: ", (), f"a number from 1 to {len(found)}; leave")
            word = typed.plainly(line)
            if typed.command(word) in ("leave", "stop"):
                self._leave()
            if word.isdecimal() and len(word) < 3 and 1 <= int(word) <= len(found):
                self._take(self.round.choose(found[int(word) - 1]))
                return
            self.screen.show([text(f"I did not understand {names.shortened(line)}. Type a number "
                                   f"from 1 to {len(found)}.")])  # fmt: skip
