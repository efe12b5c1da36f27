"""Tuning the encoder, for maintainers: from files in the repository to the weights in data/."""
