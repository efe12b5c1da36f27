"""The errors that a person may see.

DiagnoseError
    UsageError      wrong use or bad input: exit code 2
    KnowledgeError  the knowledge cannot be used: exit code 2
"""


class DiagnoseError(Exception):
    """Base of all; its text is one plain sentence (or a line per problem) and what to do."""


class UsageError(DiagnoseError):
    """Something typed cannot be used: what was found, and what is allowed."""


class KnowledgeError(DiagnoseError):
    """The knowledge cannot be read or used; a line for each problem."""
