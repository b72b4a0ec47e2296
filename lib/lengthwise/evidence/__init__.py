"""evidence."""
