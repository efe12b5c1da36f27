"""The commands, one small function each."""

import sys
from pathlib import Path


def main() -> int:
    """Check only, for now."""
    from diagnose.kb import check, load
    gathered = load.read(Path(sys.argv[2] if len(sys.argv) > 2 else "knowledge"))
    findings = gathered.findings or check.errors(gathered.knowledge)
    for f in findings:
        print(f)
    print(len(findings), "findings")
    return 1 if findings else 0
