"""The circuit as wires between terminals: what each end of each part joins, told and changed without a file's text."""
