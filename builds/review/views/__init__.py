"""The designer's pages over all builds of a revision."""
