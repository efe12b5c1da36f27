"""Documents made of a consultation."""
