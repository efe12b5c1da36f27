"""Finds out, by asking, what is wrong in a vegetable bed, and what to do with the least harm."""

import os

__version__ = "0.1.0"

# The arrays here are small: several threads of the linear algebra would only wait for one another,
# and on a busy machine cost many times what they save. It reads this when numpy is first loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
