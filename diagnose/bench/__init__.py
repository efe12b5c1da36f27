"""The maintainer's bench: what the knowledge does, measured on its own cases."""
