"""The linter: what a check of the knowledge finds, its codes, and the cases that it works."""
