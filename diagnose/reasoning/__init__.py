"""The reasoning core. Pure: no printing, no files, no clock."""
