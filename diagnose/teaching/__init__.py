"""Teaching: a consultation shown step by step, hidden problems to practice on. Pure."""
