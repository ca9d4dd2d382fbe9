"""Examples beside the editor's fields, which are not translated."""

EXAMPLES = {
    "hints": """\
low: R10 is the wrong value, or C9 leaks. Look at both.
high: The EL84 is not in its socket, or R10 is open.
off, then ht-screen: Measure the screen supply next.
""",
}
