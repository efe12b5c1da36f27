"""Finds out, by asking, what is wrong in a vegetable bed, and what to do with the least harm."""

__version__ = "0.1.0"
