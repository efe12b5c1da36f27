"""python -m diagnose."""

from diagnose.commands import main

raise SystemExit(main())
