"""A worksheet filled on paper, entered later: its times kept, and judged as if each line had been typed then."""
