"""The designer's pages over all builds."""
