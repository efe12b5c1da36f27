"""The choice of an engine."""

from collections.abc import Sequence
from functools import cache

from diagnose.reasoning.engine import Engine, EngineRule, EngineUnavailable


def make_engine(rules: Sequence[EngineRule], name: str | None = None) -> Engine:
    """The engine "durable" or "clips" for `rules`; None takes durable where it loads, else clips.

    The same rules give the same engine, for as long as the process lives.
    Raises RuleError, EngineUnavailable, or ValueError for any other name.
    """
    if name is not None:
        return _build(name, tuple(rules))
    try:
        return _build("durable", tuple(rules))
    except EngineUnavailable:
        return _build("clips", tuple(rules))


@cache  # durable_rules never frees a set of rules
def _build(name: str, rules: tuple[EngineRule, ...]) -> Engine:
    if name == "durable":
        from diagnose.reasoning.durable import DurableEngine

        return DurableEngine(rules)
    if name == "clips":
        from diagnose.reasoning.clips import ClipsEngine

        return ClipsEngine(rules)
    raise ValueError(f"no engine is called {name!r}; there are 'durable' and 'clips'")
