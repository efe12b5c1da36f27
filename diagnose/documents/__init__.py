"""Documents made of a consultation: JSON."""
