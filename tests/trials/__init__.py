"""Kits, builds and programmes to try the diagnosis and the findings with, drawn by other equations than theirs."""
