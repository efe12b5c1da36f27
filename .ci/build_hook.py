"""Puts the ready-made copy of the knowledge into the wheel, so that the first start is quick.

Where it cannot be made (a library is missing), the wheel is built without it, and the copy is made
at the first start.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class ReadyMade(BuildHookInterface):
    """Makes the copy while the wheel is built."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Add the copy to what the wheel holds; an editable install needs none."""
        if version == "editable":
            return
        self.folder = tempfile.TemporaryDirectory()
        sys.path.insert(0, self.root)
        try:
            from diagnose.kb.store import write
            from diagnose.ready import make

            knowledge, parts = make(Path(self.root, "knowledge"))
            file = write(Path(self.folder.name), knowledge.digest, parts)
        except ImportError as error:
            self.app.display_warning(f"no ready-made copy in the wheel: {error}")
            return
        build_data["force_include"][str(file)] = f"diagnose/made/{file.name}"

    def finalize(self, version: str, build_data: dict[str, Any], artifact_path: str) -> None:
        """Leave nothing behind."""
        if version != "editable":
            self.folder.cleanup()
