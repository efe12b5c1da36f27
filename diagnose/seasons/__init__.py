"""Where the year stands at a place: frosts, windows, day length."""
