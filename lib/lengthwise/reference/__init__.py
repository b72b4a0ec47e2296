"""Every figure the library uses, each with its unit, source and status."""
