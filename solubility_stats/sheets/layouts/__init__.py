"""Unusual layouts turned into headings above columns or labels beside values."""
