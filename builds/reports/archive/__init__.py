"""The whole programme of one revision in one file, made in the background."""
