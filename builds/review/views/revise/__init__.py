"""Revising the guide: errata and halts of an issued revision, and what a revision changed."""
