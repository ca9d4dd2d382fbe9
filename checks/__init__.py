"""Numbers in, judgements out: no Django, no input or output."""
