"""Deciding what a problem is and what to do about it: problems, snags, findings."""
