"""What a new entry must be told, each with its question. Light, for the command line's help."""

WANTED: dict[str, dict[str, str]] = {
    "crop": {
        "name": "Its name, as people say it",
        "family": "Its family",
        "parts": "What can be looked at on it, with commas between",
        "eaten": "Which parts are eaten, with commas between",
    },
    "cause": {
        "name": "Its name, as people say it",
        "kind": "Its kind",
        "hosts": "Crops or families, and how common it is there, as kale=common, beet=rare",
        "evidence": "What is seen, and how often, as leaf-mines:winding=often, wilting=seldom",
        "decision": "Whether to act",
    },
    "symptom": {
        "name": "Its name, as it completes 'I see ...'",
        "part": "The parts it is looked for on, with commas between",
        "ask": "The question, as you would want to hear it",
        "kind": "Its kind",
        "effort": "The effort of looking",
        "background": "How often it is seen on any plant",
    },
    "rule": {
        "when": "When these hold, as crop=kale, season=spring",
        "then": "Conclude these, as skip=green-tuber",
        "because": "The reason, to follow 'because'",
    },
    "remedy": {
        "rung": "Its rung of the ladder",
        "season": "For now or for next season",
        "text": "What to do, in a sentence or two",
    },
}
