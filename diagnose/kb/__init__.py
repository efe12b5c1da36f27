"""The knowledge base as Python values: model, loading, checking."""
