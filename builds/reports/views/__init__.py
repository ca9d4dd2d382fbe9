"""Pages and files: the fault summary, stage sheets, the archive, and the papers of one build."""
