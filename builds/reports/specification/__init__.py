"""The specification sheet of a revision: what its builds measured, as page, PDF and JSON."""
