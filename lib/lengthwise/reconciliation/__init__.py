"""reconciliation."""
