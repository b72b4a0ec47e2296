"""classroom."""
