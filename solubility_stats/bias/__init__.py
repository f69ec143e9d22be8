"""Bias: class against curve, its causes, and what the data cannot tell apart."""

from __future__ import annotations
