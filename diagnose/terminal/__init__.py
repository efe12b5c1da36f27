"""The screens: the prompt (prompt_toolkit), the views (rich) and the plain lines."""
