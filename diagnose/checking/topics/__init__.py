"""The checks by topic; each is a small function from a subject to its findings."""
